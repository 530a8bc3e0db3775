"""The calculator: one form to each calculation, its result beside it while one types."""
