"""What is taken away from a shift: its summary and its CSV files."""
