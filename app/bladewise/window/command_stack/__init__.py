"""The command stack: every step in words with its numbers, to be changed, switched off, removed, saved as a recipe."""
