"""The page on which a job is made ready to cut: every step is seen, with its reason, before it is done."""
