"""Models that went wrong, or were made to: small STEP files, each broken in one of many ways, always the same ones.

Each way is one function: the bytes of a sound file and a source of chance in, the bytes of a broken file out. Many
change nothing that matters, as in life; the question is only what becomes of the service.
"""

import gzip
import io
import random
import re
import warnings
import zipfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from worker.archive import STEP_SUFFIXES

Change = Callable[[bytes, random.Random], bytes]

_ENTITY: Final = re.compile(rb"#(\d+)\s*=\s*([^;]*);")
_REFERENCE: Final = re.compile(rb"#\d+(?=\s*[,)])")
_REAL: Final = re.compile(rb"(?<=[(,\s])-?\d+\.\d*(?:E[-+]?\d+)?(?=\s*[,)])")
_INTEGER: Final = re.compile(rb"(?<=[(,\s])\d+(?=\s*[,)])")
_POINT: Final = re.compile(rb"CARTESIAN_POINT\s*\(\s*'[^']*'\s*,\s*\(([^)]*)\)\s*\)")
_STRING: Final = re.compile(rb"'[^']*'")
_FLAG: Final = re.compile(rb"\.[TF]\.")
_REFERENCES: Final = re.compile(rb"\(\s*(#\d+(?:\s*,\s*#\d+)+)\s*\)")
_SIZE: Final = re.compile(
    rb"((?:CYLINDRICAL|SPHERICAL|CONICAL|TOROIDAL)_SURFACE|CIRCLE|VECTOR)(\s*\([^()]*,)(-?[\d.E+-]+)(?=\))"
)
_SURFACE: Final = re.compile(rb"\b(?:PLANE|CYLINDRICAL_SURFACE|CONICAL_SURFACE|SPHERICAL_SURFACE|LINE|CIRCLE)(?=\s*\()")
_UNIT: Final = re.compile(rb"SI_UNIT\s*\([^)]*\.METRE\.\)")

_ODD_NUMBERS: Final = (
    *(b"NaN", b"1.#QNAN", b"INF", b"1.E308", b"-1.E308", b"1.7E308", b"1.E999", b"5.E-324", b"-0.", b"0."),
    *(b"1.E30", b"1.E-30", b"-1.", b"1.E10", b"$", b"*", b"''", b".T.", b"#1", b"()", b"1..2", b"0x7f"),
)
_HUGE: Final = (b"2147483647", b"-2147483648", b"4294967296", b"99999999999999999999", b"1000000", b"-1", b"0")
_ODD_STRINGS: Final = (
    *(rb"'\X2\D800'", rb"'\X2\00E4\X0'", rb"'\X4\FFFFFFFF\X0\'", rb"'\S'", rb"'\P\'", rb"'\X\'", b"'unclosed"),
    *(b"'\x00'", b"'\x1b[2J'", b"'\xff\xfe'", b"'\xc3'", b"'%s%n%x'", b"'../../../../etc/passwd'", b"''''", b"'a'b'"),
    *(b"'<script>x</script>'", b"'=1+1'", b"'\xe2\x80\xae'", b"'" + b"a" * 20_000 + b"'", b"'" + b"''" * 9_000 + b"'"),
    *(b"'line\nbreak'", b"'/* '", b"';'", b"'#1'", b'"not a binary"', b"'END-ISO-10303-21;'"),
)
_UNITS: Final = (
    *(b"SI_UNIT($,.METRE.)", b"SI_UNIT(.MICRO.,.METRE.)", b"SI_UNIT(.EXA.,.METRE.)", b"SI_UNIT(.ATTO.,.METRE.)"),
    *(b"SI_UNIT(.MILLI.,.SECOND.)", b"SI_UNIT($,$)", b"SI_UNIT()", b"SI_UNIT(.MILLI.,.PARSEC.)"),
)


@dataclass(frozen=True, slots=True)
class Mutant:
    """One broken file; `kind` names the way, `base` the sound file that it comes from."""

    number: int
    kind: str
    base: str
    suffix: str
    content: bytes

    @property
    def file_name(self) -> str:
        """What to call it."""
        return f"{self.number:06}-{self.kind}-{self.base}{self.suffix}"


def mutant(number: int, bases: Sequence[tuple[str, bytes]], seed: int = 1) -> Mutant:
    """Return the mutant of that number: for the same bases and seed the same, in whatever order they are asked for.

    Parameters
    ----------
    number : the kinds take turns, so a row of numbers has each equally often
    bases : names and contents of sound files
    """
    chance = random.Random(f"{seed}:{number}")
    kind, change = list(KINDS.items())[number % len(KINDS)]
    base, content = chance.choice(bases)
    suffix = ".stpz" if kind in _ARCHIVES else ".step"
    return Mutant(number, kind, base, suffix, change(content, chance))


def small_bases(folders: Sequence[Path], most_bytes: int) -> list[tuple[str, bytes]]:
    """Return the whole STEP files with geometry up to a size below some folders, in the order of their names."""
    paths = [path for folder in folders for path in sorted(folder.rglob("*")) if path.suffix.lower() in STEP_SUFFIXES]
    files = [(path.stem, path.read_bytes()) for path in paths]
    return [(name, data) for name, data in files if len(data) <= most_bytes and _whole(data)]


def _whole(data: bytes) -> bool:
    return (
        data.startswith(b"ISO-10303-21;") and b"VERTEX_POINT" in data and data.rstrip().endswith(b"END-ISO-10303-21;")
    )


# --- bytes ----------------------------------------------------------------------------------------------------------


def flip_bytes(data: bytes, chance: random.Random) -> bytes:
    """Change some bytes anywhere."""
    changed = bytearray(data)
    for _ in range(chance.choice((1, 2, 8, 64))):
        changed[chance.randrange(len(changed))] ^= 1 << chance.randrange(8)
    return bytes(changed)


def flip_digits(data: bytes, chance: random.Random) -> bytes:
    """Change some digits of the data section: the text stays one, what it says does not."""
    changed, start = bytearray(data), data.find(b"DATA;")
    places = [at for at in range(start, len(data)) if 48 <= data[at] <= 57]
    for at in chance.sample(places, min(len(places), chance.choice((1, 3, 20)))):
        changed[at] = 48 + chance.randrange(10)
    return bytes(changed)


def cut_off(data: bytes, chance: random.Random) -> bytes:
    """End the file somewhere."""
    return data[: chance.randrange(len(data))]


def cut_out(data: bytes, chance: random.Random) -> bytes:
    """Take a piece out of the file."""
    at, length = chance.randrange(len(data)), chance.choice((1, 10, 100, 2000))
    return data[:at] + data[at + length :]


def repeat_piece(data: bytes, chance: random.Random) -> bytes:
    """Have a piece of the file twice."""
    at, length = chance.randrange(len(data)), chance.choice((1, 10, 100, 2000))
    return data[: at + length] + data[at:]


def insert_bytes(data: bytes, chance: random.Random) -> bytes:
    """Put something foreign into the file."""
    at = chance.randrange(len(data))
    what = chance.choice(
        (b"\x00" * 64, b"\xff" * 9, b"/*", b"*/", b"ENDSEC;", b"'", b"((((", b"));", b"\n\n", b"&SCOPE;")
    )
    return data[:at] + what + data[at:]


def encode(data: bytes, chance: random.Random) -> bytes:
    """Write the text as no STEP file is written."""
    text = data.decode("latin-1")
    ways = (
        lambda: text.encode("utf-16"),
        lambda: b"\xef\xbb\xbf" + data,
        lambda: text.encode("utf-32-le"),
        lambda: data.replace(b"\r\n", b"\n").replace(b"\n", b"\r"),
        lambda: data.replace(b" ", b"\t"),
        lambda: data.replace(b"\n", b""),
        lambda: data.lower(),
        lambda: text.encode("cp037"),
        lambda: data + b"\x00" * 4096,
    )
    return chance.choice(ways)()


# --- entities -------------------------------------------------------------------------------------------------------


def delete_entities(data: bytes, chance: random.Random) -> bytes:
    """Leave out one or a few entities; what refers to them dangles."""
    return _change_some(data, _ENTITY, chance, lambda: b"")


def duplicate_entity(data: bytes, chance: random.Random) -> bytes:
    """Give one number to two entities that differ."""
    one, other = chance.choices(list(_ENTITY.finditer(data)), k=2)
    return _before_end(data, b"#" + one[1] + b"=" + other[2] + b";\n")


def swap_entities(data: bytes, chance: random.Random) -> bytes:
    """Let two entities change places under their numbers."""
    one, other = sorted(chance.sample(list(_ENTITY.finditer(data)), 2), key=lambda each: each.start())
    middle = data[one.end(2) : other.start(2)]
    return data[: one.start(2)] + other[2] + middle + one[2] + data[other.end(2) :]


def close_circle(data: bytes, chance: random.Random) -> bytes:
    """Let an entity refer to itself, or to one that refers to it."""
    refers = [each for each in _ENTITY.finditer(data) if _REFERENCE.search(each[2])]
    found = chance.choice(refers)
    users = [each[1] for each in refers if re.search(rb"#%s\b" % found[1], each[2])]
    target = chance.choice([found[1], *users])
    reference = chance.choice(list(_REFERENCE.finditer(data, found.start(2), found.end(2))))
    return _put(data, reference, b"#" + target)


def dangle(data: bytes, chance: random.Random) -> bytes:
    """Let references lead nowhere."""
    return _change_some(data, _REFERENCE, chance, lambda: b"#%d" % chance.choice((0, 999_999, 2**31, 2**64, 10**30)))


def refer_wrongly(data: bytes, chance: random.Random) -> bytes:
    """Let references lead to other entities, of whatever kind."""
    numbers = [each[1] for each in _ENTITY.finditer(data)]
    return _change_some(data, _REFERENCE, chance, lambda: b"#" + chance.choice(numbers))


def shuffle_entities(data: bytes, chance: random.Random) -> bytes:
    """Write the entities in another order, which means the same."""
    start, end = data.index(b"DATA;") + 5, data.rindex(b"ENDSEC;")
    entities = [each[0] for each in _ENTITY.finditer(data, start, end)]
    chance.shuffle(entities)
    return data[:start] + b"\n" + b"\n".join(entities) + b"\n" + data[end:]


def add_entities(data: bytes, chance: random.Random) -> bytes:
    """Add thousands of entities that nothing needs, some of no known kind."""
    what = chance.choice((b"CARTESIAN_POINT('',(0.,0.,0.))", b"NO_SUCH_ENTITY(1,2,3)", b"()", b"PRODUCT('','','',())"))
    first = 1_000_000
    return _before_end(data, b"".join(b"#%d=%s;\n" % (first + each, what) for each in range(chance.choice((10, 5000)))))


def chain_entities(data: bytes, chance: random.Random) -> bytes:
    """Hang a long chain of references on the shape: what follows it by recursion runs out of stack."""
    first, length = 1_000_000, chance.choice((100, 20_000))
    kinds = (b"('',(#%d))", b"('',#%d)", b"('',$,#%d)")
    keyword = chance.choice((b"COMPOSITE_CURVE", b"CLOSED_SHELL", b"OFFSET_CURVE_3D", b"TRIMMED_CURVE", b"GROUP"))
    body = keyword + chance.choice(kinds)
    links = b"".join(b"#%d=%s;\n" % (first + each, body % (first + each + 1)) for each in range(length))
    return _change_some(_before_end(data, links), _REFERENCE, chance, lambda: b"#%d" % first)


def splice(data: bytes, chance: random.Random) -> bytes:
    """Put the data section in twice, or only its second half."""
    start, end = data.index(b"DATA;"), data.rindex(b"ENDSEC;") + 7
    section = data[start:end]
    ways = (
        section + b"\n" + section,
        section[: len(section) // 2] + b"\n" + section,
        b"DATA;" + section[len(section) // 2 :],
    )
    return data[:start] + chance.choice(ways) + data[end:]


def nest(data: bytes, chance: random.Random) -> bytes:
    """Put a value into thousands of parentheses."""
    deep = chance.choice((10, 300, 5000, 100_000))
    return _change_some(data, _REAL, chance, lambda: b"(" * deep + b"1." + b")" * deep, most=1)


def lengthen_lists(data: bytes, chance: random.Random) -> bytes:
    """Repeat the references of a list: faces, bounds, edges, bodies."""
    found = list(_REFERENCES.finditer(data))
    if not found:
        return data
    one = chance.choice(found)
    return _put(data, one, b"(" + b",".join([one[1]] * chance.choice((2, 2, 2, 2, 20, 20, 20, 20, 20, 2000))) + b")")


def shorten_lists(data: bytes, chance: random.Random) -> bytes:
    """Leave references out of a list: open shells, open loops, faces without bounds."""
    found = list(_REFERENCES.finditer(data))
    if not found:
        return data
    one = chance.choice(found)
    kept = one[1].split(b",")[chance.choice((1, 2, len(one[1]))) :]
    return _put(data, one, b"(" + b",".join(kept) + b")")


# --- values ---------------------------------------------------------------------------------------------------------


def odd_numbers(data: bytes, chance: random.Random) -> bytes:
    """Write numbers that are none, or too large or too small for anything."""
    return _change_some(data, _REAL, chance, lambda: chance.choice(_ODD_NUMBERS))


def odd_points(data: bytes, chance: random.Random) -> bytes:
    """Move a point to where nothing can be, or leave its coordinates out."""
    triple = chance.choice(
        (b"NaN,NaN,NaN", b"1.E308,0.,0.", b"-1.E308,1.E308,1.E308", b"1.E100,1.,1.", b"", b"1.", b"0.,0.,0.")
    )
    found = chance.choice(list(_POINT.finditer(data)))
    return data[: found.start(1)] + triple + data[found.end(1) :]


def shake_points(data: bytes, chance: random.Random) -> bytes:
    """Move all points a little: gaps, or much: faces that cross."""
    size_mm = chance.choice((1e-7, 1e-4, 0.01, 0.3, 5.0))

    def moved(found: re.Match[bytes]) -> bytes:
        try:
            values = [float(each) + chance.gauss(0, size_mm) for each in found[1].split(b",")]
        except ValueError:
            return found[0]
        return found[0].replace(found[1], b",".join(b"%.9f" % each for each in values))

    return _POINT.sub(moved, data)


def scale_points(data: bytes, chance: random.Random) -> bytes:
    """Scale all points, but no radius and no length."""
    factor = chance.choice((1e-9, 1e-4, 0.001, 25.4, 1e4, 1e9, -1.0, 0.0))

    def scaled(found: re.Match[bytes]) -> bytes:
        try:
            values = [float(each) * factor for each in found[1].split(b",")]
        except ValueError:
            return found[0]
        return found[0].replace(found[1], b",".join(b"%.9E" % each for each in values))

    return _POINT.sub(scaled, data)


def odd_sizes(data: bytes, chance: random.Random) -> bytes:
    """Give round faces and curves radii that nothing can have."""
    size = chance.choice((b"0.", b"-5.", b"1.E-12", b"1.E12", b"NaN", b"1.E308"))
    found = list(_SIZE.finditer(data))
    if not found:
        return data
    one = chance.choice(found)
    return _put(data, one, one[1] + one[2] + size)


def huge_integers(data: bytes, chance: random.Random) -> bytes:
    """Write counts, degrees and multiplicities that would fill the memory."""
    return _change_some(data, _INTEGER, chance, lambda: chance.choice(_HUGE))


def odd_strings(data: bytes, chance: random.Random) -> bytes:
    """Write names that are meant to hurt, or are not closed."""
    return _change_some(data, _STRING, chance, lambda: chance.choice(_ODD_STRINGS))


def turn_flags(data: bytes, chance: random.Random) -> bytes:
    """Turn faces, bounds and edges round."""
    return _change_some(data, _FLAG, chance, lambda: chance.choice((b".T.", b".F.", b".U.")), most=400)


def other_surfaces(data: bytes, chance: random.Random) -> bytes:
    """Give faces and edges a surface or curve of another kind, whose sizes are not there."""
    words = (
        b"PLANE",
        b"CYLINDRICAL_SURFACE",
        b"SPHERICAL_SURFACE",
        b"TOROIDAL_SURFACE",
        b"B_SPLINE_SURFACE",
        b"LINE",
        b"ELLIPSE",
    )
    return _change_some(data, _SURFACE, chance, lambda: chance.choice(words))


def other_units(data: bytes, chance: random.Random) -> bytes:
    """Write lengths in a unit that no drawing has, or in none."""
    return _UNIT.sub(lambda _: chance.choice(_UNITS), data)


def break_frame(data: bytes, chance: random.Random) -> bytes:
    """Break what stands around the data: header, section ends, schema."""
    word = chance.choice((b"HEADER;", b"FILE_NAME", b"FILE_SCHEMA", b"DATA;", b"END-ISO-10303-21;", b"ISO-10303-21;"))
    schema = re.sub(rb"FILE_SCHEMA\s*\(\(.*?\)\)", b"FILE_SCHEMA(('NO_SUCH_SCHEMA'))", data, flags=re.DOTALL)
    return chance.choice((data.replace(word, b""), data.replace(word, word * 2), data.replace(b"ENDSEC;", b""), schema))


def several_ways(data: bytes, chance: random.Random) -> bytes:
    """Break it in two or three of these ways."""
    ways = [each for name, each in KINDS.items() if name not in _ARCHIVES and name != "several_ways"]
    for _ in range(chance.choice((2, 3))):
        try:
            data = chance.choice(ways)(data, chance)
        except (IndexError, ValueError):  # the way before left nothing that this one could change
            return data
    return data


# --- archives -------------------------------------------------------------------------------------------------------


def bomb(data: bytes, chance: random.Random) -> bytes:
    """Return a small archive of very much."""
    return _bomb(chance.choice((2, 24)), chance.choice((True, False)))


@cache
def _bomb(size_mib: int, as_zip: bool) -> bytes:
    blanks = b"ISO-10303-21;\n" + b" " * (size_mib << 20)
    return zipped([("part.step", blanks)]) if as_zip else gzip.compress(blanks, mtime=0)


def archive(data: bytes, chance: random.Random) -> bytes:
    """Return the model in an archive with something odd about it."""
    names = (
        "part.step",
        "../part.step",
        "/etc/part.step",
        "a/b/../part.step",
        "..\\part.step",
        "C:part.step",
        "\x00.step",
        "",
    )
    ways = (
        lambda: zipped([(chance.choice(names), data)]),
        lambda: zipped([("part.step", data), ("part.step", data[::-1])]),
        lambda: zipped([("inner.stpz", zipped([("part.step", data)]))]),
        lambda: zipped([(f"{each}.step", data[: 9 * each]) for each in range(4)]),
        lambda: gzip.compress(data, mtime=0),
        lambda: gzip.compress(gzip.compress(data, mtime=0), mtime=0),
        lambda: zipped([]),
    )
    return chance.choice(ways)()


def damage_archive(data: bytes, chance: random.Random) -> bytes:
    """Return the model in an archive that was damaged on its way."""
    packed = zipped([("part.step", data)]) if chance.random() < 0.7 else gzip.compress(data, mtime=0)
    return chance.choice((flip_bytes, cut_off, cut_out, repeat_piece))(packed, chance)


def zipped(members: Sequence[tuple[str, bytes]]) -> bytes:
    """Return a zip file; the same for the same members."""
    out = io.BytesIO()
    with warnings.catch_warnings(), zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as file:
        warnings.simplefilter("ignore")  # two members of one name are meant
        for name, content in members:
            entry = zipfile.ZipInfo(name)
            entry.compress_type = zipfile.ZIP_DEFLATED
            file.writestr(entry, content)
    return out.getvalue()


# --- tools ----------------------------------------------------------------------------------------------------------


def _some(found: list[re.Match[bytes]], chance: random.Random, counts: Sequence[int]) -> list[re.Match[bytes]]:
    return chance.sample(found, min(len(found), chance.choice(counts)))


def _put(data: bytes, found: re.Match[bytes], text: bytes) -> bytes:
    return data[: found.start()] + text + data[found.end() :]


def _change_some(
    data: bytes, what: re.Pattern[bytes], chance: random.Random, text: Callable[[], bytes], most: int = 30
) -> bytes:
    """Return the text with one or some of what matches written anew."""
    chosen = _some(list(what.finditer(data)), chance, (1, 1, min(3, most), most))
    return b"".join(_pieces(data, sorted(chosen, key=lambda each: each.start()), text))


def _pieces(data: bytes, chosen: Sequence[re.Match[bytes]], text: Callable[[], bytes]) -> Iterator[bytes]:
    """Yield the text with each of what is chosen, in their order, written anew."""
    done = 0
    for found in chosen:
        yield data[done : found.start()]
        yield text()
        done = found.end()
    yield data[done:]


def _before_end(data: bytes, text: bytes) -> bytes:
    end = data.rindex(b"ENDSEC;")
    return data[:end] + text + data[end:]


_ARCHIVES: Final = ("bomb", "archive", "damage_archive")

KINDS: Final[dict[str, Change]] = {
    each.__name__: each
    for each in (
        *(flip_bytes, flip_digits, cut_off, cut_out, repeat_piece, insert_bytes, encode),
        *(delete_entities, duplicate_entity, swap_entities, close_circle, dangle, refer_wrongly, shuffle_entities),
        *(add_entities, chain_entities, splice, nest, lengthen_lists, shorten_lists),
        *(odd_numbers, odd_points, shake_points, scale_points, odd_sizes, huge_integers, odd_strings),
        *(turn_flags, other_surfaces, other_units, break_frame, several_ways),
        *(bomb, archive, damage_archive),
    )
}
"""Every way by its name; they take turns."""
