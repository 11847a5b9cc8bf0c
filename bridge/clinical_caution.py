"""What has to be said wherever a clinical rule speaks, in reports and in letters."""

CAUTION = (
    "This checks the record, not the patient. Local rules and licensed practice come first; in an emergency use the "
    "emergency services."
)
