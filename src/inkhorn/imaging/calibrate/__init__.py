"""From what a camera made of known greys and colours to light."""
