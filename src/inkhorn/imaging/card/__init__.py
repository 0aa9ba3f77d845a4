"""The card that lies in a photograph: its layout, and finding it."""
