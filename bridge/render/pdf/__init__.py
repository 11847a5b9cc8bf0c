"""The letter as PDF: plain data for the template, the characters that print, the compiler."""
