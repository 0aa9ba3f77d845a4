"""Make an ink again from new lots of unknown strength."""
