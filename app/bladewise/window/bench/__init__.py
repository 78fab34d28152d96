"""The bench: what can be done with what is selected, as verbs; an open verb shows its numbers and a live ghost."""
