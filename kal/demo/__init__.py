"""A made-up host, her three knit-alongs and sixty knitters; the same every time it is built."""
