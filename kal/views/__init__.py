"""Pages of the base app, one file a subject; they alone may ask palettes and schedule."""
