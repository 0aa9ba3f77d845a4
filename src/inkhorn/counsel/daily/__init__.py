"""Keep an ink as it was from day to day."""
