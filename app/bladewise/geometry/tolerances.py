"""Every tolerance of the geometry room, in one place, with its unit and its reason.

A knife cutter resolves 0.025 mm (one plotter unit of HP-GL/2) or at best 0.01 mm. All of these
stand well below that, and well above the rounding of a double at the size of a roll (1e-10 mm at a
kilometre).
"""

FLATTENING_MM = 0.005
"""Largest distance between a curve and the chords that stand for it while GEOS decides the topology.

It never shows in a result: it only bounds how small an overlap is still seen.
"""

FINE_FLATTENING_MM = 0.002
"""The same for art of few segments, where it costs milliseconds: overlaps down to the sliver's width are seen."""

FEW_SEGMENTS = 2000
"""Art of at most so many segments is flattened finely."""

COINCIDENT_MM = 0.002
"""Curves closer than this along a stretch are one curve; ends closer than this are one end."""

SLIVER_MM = 0.002
"""Pieces and holes thinner than this (twice the area over the outline) are remainders, not shapes."""

ON_CURVE_MM = 1e-8
"""How near a refined crossing must be to both of its curves."""

SAME_POINT_MM = 1e-9
"""Points nearer than this are one point: a crossing this near to a node is the node."""

REACH = 12.0
"""A refined crossing may move this many flattening tolerances away from where the chords crossed."""

BESIDE = 2.0
"""Curves whose chords cross and that stay this many flattening tolerances apart at most run side by side: their
crossing may lie farther along than `REACH`."""

FINEST_SHARE = 1e-3
"""The flattening tolerance never exceeds this share of the artwork's extent, and what counts as coincident or as a
sliver shrinks with it, so that art of a few millimetres and less keeps its form."""

FITTING_MM = 0.002
"""Largest distance between a fitted curve (a parallel, a stroke's side) and the exact one: under half of the
0.005 mm promised, so that what the kernel adds still fits in."""

TAPER_DEG = 6.0
"""Sides that run towards each other by no more than this bound a strip, whose width counts even where it is least only
because the strip ends there; sides that close faster make a tip, and a tip has no width."""

STRAIGHT_DEG = 15.0
"""Measures cut curves into stretches that turn no more than this: two of them have one least distance, not several."""

CORNER_DEG = 0.1
"""Tangents that differ by more than this at a node make a corner; below it the outline is smooth, as drawn by hand."""

TOUCHING_MM = 1e-6
"""Sides nearer than this touch: a touch has no width and is no gap."""

ROUNDED_CORNER_DEG = 175.0
"""Two sides that enclose less than this, in degrees, make a corner one sees; a turn of 5° is none to a knife."""

SMOOTH_JOINT_DEG = 1.0
"""A path turns by less than this, in degrees, where two segments run on smoothly: drawing programs' own rounding."""

KEPT_CORNER_DEG = 120.0
"""Sides of a jagged outline that enclose less than this, in degrees, are a corner that smoothing keeps: the steps of
a traced bitmap lean less, looked at over four of them."""

BENDING_MM = 0.005
"""How far a bent curve may stray from the true one: half of the 0.01 mm promised."""

STRAIGHT_MM = 1e-7
"""A line whose points stay this near to its chord when bent is still a line."""

EVEN_HANDLES_SHARE = 0.005
"""Handles whose lengths differ by less than this share of the longer count as equally long: the rounding of files."""

RECOMBINED_MM = 1e-7
"""Two segments that one segment follows this closely are the halves of it, and become it again when their node goes."""

BOW_SHARE = 0.75
"""A chord of a polyline may stand for a curve that bows out by this share of the tolerance it is fitted to; the rest is
left to the fit."""

REFIT_FLATTENING = 0.2
"""A path is sampled to this share of the tolerance before it is fitted again: what lies between is seen by its bow."""

REFIT_SMOOTH_DEG = 4.0
"""Segments of a path that meet at less than this, in degrees, are one smooth curve when it is fitted again."""

CROSSING_STRETCH_MM = 1e-5
"""Two curves that run side by side are followed down to stretches of this length before their nearest place is taken
for a touch: crossings farther apart than this are told as two."""

RIM_MARGIN_MM = 0.03
"""What lies at least this much deeper than the rim of a region that grows is left out before GEOS is asked: several
times what flattening, fitting and joining may move anything together."""

RIM_SHARE = 0.2
"""The same for small reaches, as a share of the reach."""

RIM_FLATTENING_SHARE = 0.05
"""For measuring how deep places lie the outline is flattened to this share of the margin: well under what counts."""

PARALLEL_FITTING_MM = 0.003
"""What `FITTING_MM` is for strokes, for parallels: nothing else moves them, so that 0.005 mm keep some room."""

LEAST_ARC_DEG = 10.0
"""Chords that turn by less than this, in degrees, are followed by a cubic, which joins its neighbours more smoothly."""

NO_KINK_DEG = 0.02
"""Fitted lines and arcs that meet at less than this, in degrees, are left as they are: arcs stay arcs of circles."""

SHARP_BEND_DEG = 30.0
"""A polyline that turns by more than this, in degrees, within some tolerances of a place may have a corner there."""

DRAWN_KINK_DEG = 8.0
"""A straight and the chords of a curve that meet at more than this, in degrees, were drawn with a corner between."""

CUT_CORNER_DEG = 20.0
"""Where an outline turns by more than this, in degrees, it has a corner that a perforation cuts and no tab holds."""

TRACING_PX = 0.4
"""How far, in pixels, the curves of a traced picture may be from the edge its pixels tell of: under half of one."""

LEAST_SPECK_PX2 = 3.0
"""Specks and pinholes of a traced picture smaller than this, in square pixels, are noise of its edge, no design."""

HARD_TRACING_PX = 0.6
"""The same where pixels are all or nothing: what is left of their steps is no shape."""

MOST_TRACED_POINTS = 40_000
"""A mask whose outline passes more pixels than this is traced at half its size: it is grain more than design, and no
knife is asked to follow so much."""

HAIR_ROOT_SHARE = 1.02
"""A hair is cut off where it is this many times as wide as what is too narrow: so that the stump is not."""

HAIR_FLATTENING_MM = 0.001
"""Outlines are flattened to this to see where hairs begin, more finely where hairs are finer."""

HAIR_FLATTENING_SHARE = 0.2
"""A hair is seen on chords that stray from its sides by no more than this share of its width."""

LEAST_HAIR_FLATTENING_MM = 2e-5
"""Hairs finer than this are too fine for chords; a knife knows nothing of them."""

ABUTTING_MM = 0.001
"""A place of an outline this near to a neighbour's lies on the edge the two share: both on chords."""
