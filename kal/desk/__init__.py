"""What the desk shows: its navigation, and the parts that each app provides."""
