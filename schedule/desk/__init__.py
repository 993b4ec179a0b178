"""What the desk shows of clues, mail and the crowd that follows them."""
