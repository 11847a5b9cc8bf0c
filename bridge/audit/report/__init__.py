"""An audit as a lead, a program, a spreadsheet or a browser wants to read it."""
