"""Lettering in the window: fonts to choose from, retyping, letters' other forms, bends by hand, lists of names."""
