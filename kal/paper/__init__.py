"""What this site prints: sheets, areas of a page, join cards and the preparation pack."""
