"""The room that reads the records as a practice keeps them: tables, workbooks, databases, JSON, YAML."""
