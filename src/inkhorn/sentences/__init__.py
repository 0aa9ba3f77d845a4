"""Floor: see docs/explanation/house.md."""
