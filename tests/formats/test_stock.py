"""The shop's stock is a file of the operator's: it comes back as written, and says where it is wrong."""

import pytest

from bladewise.document import Colour, CutKind, Material, MaterialKind, Profile
from bladewise.errors import CannotRead
from bladewise.formats.stock import read_stock, write_stock

STOCK = (
    Material("signal-red", "Signal red", Colour(0xCC, 0x33, 0x11), profile=Profile(roll_width_mm=630, price_a_m2=8.4)),
    Material(
        "film", "Film “matt”", Colour(1, 2, 3), MaterialKind.PRINT, Profile(like="heat-transfer"), CutKind.THROUGH
    ),
)


def test_the_stock_comes_back_as_it_was_written(tmp_path):
    write_stock(tmp_path / "shop" / "stock.toml", STOCK)
    back = read_stock(tmp_path / "shop" / "stock.toml")
    assert [(each.name, each.colour, each.kind, each.cut, each.profile) for each in back] == [
        (each.name, each.colour, each.kind, each.cut, each.profile) for each in STOCK
    ]


@pytest.mark.parametrize(
    ("text", "said", "where"),
    [
        (
            '[[material]]\nname = "Red"\ncolour = "#cc3311"\nrol_width_mm = 3\n',
            "Did you mean “roll_width_mm”?",
            "line 1",
        ),
        ('\n[[material]]\nname = "Red"\ncolour = "crimson"\n', "crimson", "line 2"),
        ('[[material]]\ncolour = "#cc3311"\n', "A material needs a name.", "line 1"),
        ('[[material]]\nname = "R"\ncolour = "#cc3311"\nprice_a_m2 = true\n', "is a number between", "line 1"),
        ("material = 3\n", "no list of materials", "stock.toml"),
        ("vinyl = []\n", "A stock has no “vinyl”", "line 1"),
        ('[[material]]\nname = "R"\ncolour = "#cc3311"\n' * 2, "stands there twice", "line 4"),
        ("[[material]\n", "This is not TOML", "line 1"),
    ],
)
def test_a_stock_that_is_wrong_says_where_and_what(tmp_path, text, said, where):
    path = tmp_path / "stock.toml"
    path.write_text(text, encoding="utf-8")
    with pytest.raises(CannotRead) as refused:
        read_stock(path)
    assert said in refused.value.what
    assert where in refused.value.where
