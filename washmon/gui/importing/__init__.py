"""Taking over a log that a shed kept in a spreadsheet until now."""
