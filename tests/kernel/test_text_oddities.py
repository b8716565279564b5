"""Odd texts and names are told, ordinary ones are not."""

import pytest

from analyzers.kernel.text_oddities import odd_name, oddities

SCHEMA = "AUTOMOTIVE_DESIGN { 1 0 10303 214 1 1 1 1 }"


def told(data: bytes, schema: str | None = SCHEMA) -> list[tuple[str, int]]:
    """Return code and count of each oddity."""
    return [(each.code, each.count) for each in oddities(data, schema)]


@pytest.mark.parametrize(
    "name",
    [
        *("\u202egpj.exe", "<script>x</script>", "<img src=x onerror=alert(1)>", "../../etc/passwd", "..\\x", "=1+1"),
        *("@SUM(A1)", "a\x1b[2J"),
    ],
)
def test_odd_names(name: str) -> None:
    """Each of these is meant to harm somebody."""
    assert odd_name(name)


@pytest.mark.parametrize(
    "name",
    ["", "Halter links", "plate 3/4 in", "C:/parts/plate.stp", "a < b", "<none>", "Träger ⌀5", "x..y", "3-4=7", "..."],
)
def test_ordinary_names(name: str) -> None:
    """People call things so."""
    assert odd_name(name) is None


@pytest.mark.parametrize(
    ("schema", "known"),
    [
        (SCHEMA, True),
        ("CONFIG_CONTROL_DESIGN", True),
        ("AP242_MANAGED_MODEL_BASED_3D_ENGINEERING_MIM_LF { 1 0 10303 442 1 1 4 }", True),
        ("AP203_CONFIGURATION_CONTROLLED_3D_DESIGN_OF_MECHANICAL_PARTS_AND_ASSEMBLIES_MIM_LF", True),
        ("IFC4", False),
        (None, False),
    ],
)
def test_schemas(schema: str | None, known: bool) -> None:
    """The schemas that carry solids of machined parts are known."""
    assert told(b"#1=X();#2=Y(#1);", schema) == ([] if known else [("unknown_schema", 1)])


@pytest.mark.parametrize(("depth", "deep"), [(100, False), (101, True)])
def test_nested_brackets(depth: int, deep: bool) -> None:
    """A hundred in one another are let pass."""
    assert told(b"#1=X" + b"(" * depth + b")" * depth + b";") == ([("deep_nesting", 1)] if deep else [])


@pytest.mark.parametrize(("unused", "many"), [(1001, True), (1000, False)])
def test_unused_entities(unused: int, many: bool) -> None:
    """Masses of them are told; the hundred that are used refer to one another, one of them to nothing."""
    used = b"".join(b"#%d = A(#%d);\n" % (each, each % 100 + 1) for each in range(1, 101))
    masses = b"".join(b"#%d= B();\n" % (1_000_000 + each) for each in range(unused))
    assert told(used + masses) == ([("unused_entities", unused)] if many else [])


def test_numbers_of_any_length_and_cut_ends_raise_nothing() -> None:
    """Numbers that fit into no integer, and a text that ends in one."""
    assert told(b"#99999999999999999999999999=A(#") == []
    assert told(b"#1=A(#2") == []
    assert told(b"#") == []
    assert told(b"") == []


def test_a_product_with_an_odd_name_is_told() -> None:
    """In the id as in the name, also where letters are coded (ISO 10303-21, 6.4.3)."""
    assert told(rb"#1=PRODUCT('\X2\202E\X0\gpj','plate','',(#2));#2=X();") == [("odd_name", 1)]
    assert told(rb"#1=PRODUCT('plate','=1+1','',(#2));#2=X();") == [("odd_name", 1)]
    assert told(rb"#1=PRODUCT('plate','Tr\X2\00E4\X0\ger','',(#2));#2=X();") == []
