import pytest

from analyzers.settings import Refusal
from tests.rules import _builders as build

RULE = "refused_by_shop"


@pytest.mark.parametrize(
    ("refusal", "features"),
    [
        pytest.param(Refusal(what="material", name="AL", why="no coolant for it"), (), id="material"),
        pytest.param(Refusal(what="process", name="milled", why="the mill is sold"), (), id="process"),
        pytest.param(Refusal(what="feature", name="round_hole", why="the drill is blunt"), ("F1",), id="feature"),
    ],
)
def test_fires(refusal: Refusal, features: tuple[str, ...]) -> None:
    """The shop's own words are passed on."""
    (found,) = build.ask(RULE, build.case(build.hole(), shop_=build.shop(refuses=(refusal,))))
    assert (found.level, found.features) == ("error", features)
    assert refusal.why in found.message


@pytest.mark.parametrize(
    "refuses",
    [
        pytest.param((), id="exactly-nothing-refused"),
        pytest.param((Refusal(what="material", name="TI", why="fire"),), id="another-material"),
        pytest.param((Refusal(what="process", name="turned", why="no lathe"),), id="another-process"),
        pytest.param((Refusal(what="feature", name="region", why="no ball"),), id="another-feature"),
    ],
)
def test_stays_silent(refuses: tuple[Refusal, ...]) -> None:
    """What the shop refuses is not in this part."""
    assert build.ask(RULE, build.case(build.hole(), shop_=build.shop(refuses=refuses))) == []
