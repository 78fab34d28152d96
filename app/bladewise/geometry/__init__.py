"""Curves, flattening, booleans, parallels, strokes, fitting and measuring: numpy and shapely only.

Nothing here knows of colours, layers or files. Everything takes and gives `Path` values in
millimetres.
"""
