"""Each part placed on a sheet: where, which turn, which face up."""
