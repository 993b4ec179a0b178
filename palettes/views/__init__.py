"""Pages of the palettes app, one file a subject."""
