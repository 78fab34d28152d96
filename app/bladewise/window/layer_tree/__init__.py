"""The layer tree: layers, groups and shapes, the front at the top; drag to reorder, show, hide, lock, rename."""
