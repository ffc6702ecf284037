"""What makes up a build book, and in what order."""
