"""Dialogs: export, what was not understood, the keys, unsaved changes, about."""
