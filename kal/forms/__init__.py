"""What a person may send to the base app, one file a subject."""
