"""The readiness panel: is it ready to cut; what is wrong, where, and the step that mends it."""
