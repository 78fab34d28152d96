"""How far apart two colours look.

The 34 pairs: G. Sharma, W. Wu, E. N. Dalal, "The CIEDE2000 Color-Difference Formula: Implementation Notes …", Color
Research and Application 30 (2005), table 1; the numbers as the test data of scikit-image hold them
(ciede2000_test_data.txt). The three primaries in CIELAB: from memory, to two decimals.
"""

import numpy as np
import pytest

from bladewise.document import Colour
from bladewise.document.colour_distance import ciede2000, colour_distance, colour_distances, lab

PAIRS = np.array(
    [
        [50.0000, 2.6772, -79.7751, 50.0000, 0.0000, -82.7485, 2.0425],
        [50.0000, 3.1571, -77.2803, 50.0000, 0.0000, -82.7485, 2.8615],
        [50.0000, 2.8361, -74.0200, 50.0000, 0.0000, -82.7485, 3.4412],
        [50.0000, -1.3802, -84.2814, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, -1.1848, -84.8006, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, -0.9009, -85.5211, 50.0000, 0.0000, -82.7485, 1.0000],
        [50.0000, 0.0000, 0.0000, 50.0000, -1.0000, 2.0000, 2.3669],
        [50.0000, -1.0000, 2.0000, 50.0000, 0.0000, 0.0000, 2.3669],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0009, 7.1792],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0010, 7.1792],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0011, 7.2195],
        [50.0000, 2.4900, -0.0010, 50.0000, -2.4900, 0.0012, 7.2195],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0009, -2.4900, 4.8045],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0010, -2.4900, 4.8045],
        [50.0000, -0.0010, 2.4900, 50.0000, 0.0011, -2.4900, 4.7461],
        [50.0000, 2.5000, 0.0000, 50.0000, 0.0000, -2.5000, 4.3065],
        [50.0000, 2.5000, 0.0000, 73.0000, 25.0000, -18.0000, 27.1492],
        [50.0000, 2.5000, 0.0000, 61.0000, -5.0000, 29.0000, 22.8977],
        [50.0000, 2.5000, 0.0000, 56.0000, -27.0000, -3.0000, 31.9030],
        [50.0000, 2.5000, 0.0000, 58.0000, 24.0000, 15.0000, 19.4535],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.1736, 0.5854, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.2972, 0.0000, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 1.8634, 0.5757, 1.0000],
        [50.0000, 2.5000, 0.0000, 50.0000, 3.2592, 0.3350, 1.0000],
        [60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644],
        [63.0109, -31.0961, -5.8663, 62.8187, -29.7946, -4.0864, 1.2630],
        [61.2901, 3.7196, -5.3901, 61.4292, 2.2480, -4.9620, 1.8731],
        [35.0831, -44.1164, 3.7933, 35.0232, -40.0716, 1.5901, 1.8645],
        [22.7233, 20.0904, -46.6940, 23.0331, 14.9730, -42.5619, 2.0373],
        [36.4612, 47.8580, 18.3852, 36.2715, 50.5065, 21.2231, 1.4146],
        [90.8027, -2.0831, 1.4410, 91.1528, -1.6435, 0.0447, 1.4441],
        [90.9257, -0.5406, -0.9208, 88.6381, -0.8985, -0.7239, 1.5381],
        [6.7747, -0.2908, -2.4247, 5.8714, -0.0985, -2.2286, 0.6377],
        [2.0776, 0.0795, -1.1350, 0.9033, -0.0636, -0.5514, 0.9082],
    ]
)


def test_all_34_published_pairs_come_out_to_four_decimals_either_way_round():
    assert len(PAIRS) == 34
    one, other, wanted = PAIRS[:, :3], PAIRS[:, 3:6], PAIRS[:, 6]
    assert np.abs(ciede2000(one, other) - wanted).max() < 5.1e-5
    assert np.abs(ciede2000(other, one) - wanted).max() < 5.1e-5


@pytest.mark.parametrize(
    ("colour", "wanted"),
    [
        (Colour(255, 0, 0), (53.24, 80.09, 67.20)),
        (Colour(0, 255, 0), (87.73, -86.18, 83.18)),
        (Colour(0, 0, 255), (32.30, 79.19, -107.86)),
        (Colour(119, 119, 119), (50.03, 0.0, 0.0)),
    ],
)
def test_colours_stand_where_cielab_has_them(colour, wanted):
    assert lab(colour) == pytest.approx(wanted, abs=0.02)


def test_every_grey_is_without_a_hue_and_rises_with_its_channel():
    greys = lab([Colour(level, level, level) for level in range(256)])
    assert np.abs(greys[:, 1:]).max() < 1e-9
    assert (np.diff(greys[:, 0]) > 0.0).all()
    assert greys[[0, -1], 0] == pytest.approx([0.0, 100.0])


def test_distances_of_many_are_those_of_each_pair():
    some = [Colour(230, 159, 0), Colour(231, 159, 2), Colour(0, 114, 178), Colour(0, 0, 0)]
    table = colour_distances(some)
    assert table == pytest.approx(table.T)
    assert np.diag(table) == pytest.approx(np.zeros(4))
    assert table[0, 2] == pytest.approx(colour_distance(some[0], some[2]))
    assert colour_distances(some, some[1:2])[:, 0] == pytest.approx(table[:, 1])
    assert table[0, 1] < 1.0 < table[0, 2]
