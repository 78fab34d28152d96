"""The window: the only room that knows Qt. The canvas, the panels around it, and pictures of a job."""
