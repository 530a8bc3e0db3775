"""Taking over a log that was kept in a spreadsheet: from a CSV file to the events of shifts."""
