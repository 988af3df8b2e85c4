"""What people may send: whole lines from a grammar, answers, commands, mistakes, and anything at all.

A `Saying` is drawn before its walk is played, so it names earlier messages and buttons by a number
that the walk takes modulo what there is then.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

from hypothesis import strategies as st

from bot.model.message import Attachment
from bot.trades import par_table

MINUTE_S = 60
PEOPLE = ("R1", "R1", "R1", "R1", "R1", "R2", "R2", "web:r1", "C1", "S1", "sms:+447700900099")
STRANGER = "sms:+447700900099"

NUMBERS = ("01", "1", "02", "03", "7", "19", "20", "21", "033", "999", "A1", "B-12")
SEALS = ("5101", "5102", "5103", "E107", "9999", "5103-5104", "x")
TIMES = ("1002", "0931", "10:02", "23:59", "0130", "now", "2002Z", "yesterday 1002", "12 Oct 1002", "25h00")
PLACES = (
    "47.2830N 19.9510W", "47.8830N 19.9510W", "47 16.98N 19 57.06W", "47.2830 19.9510", "95.0N 19.9W",
    "N47.2831 W19.9512", "28SDG7905538062", "47.2830 -19.9510",
)
PARTS = (
    "spill", "source", "background", "clean water", "blank", "dup of 01", "reference", "split", "field blank",
    "sheen", "thick oil", "tar ball", "mousse", "water", "soil", "feather", "ice", "swab", "unused",
    "jar", "pad", "net", "ring", "twine", "clean tube", "fill 3/4", "fill 80%", "fill 9/8", "full", "fill 80",
    "tank 2P", "bilge", "depth 2.5 m", "depth 2.5", "drawn by chief", "layer top", "lot 12", "tube 7",
    "place north mole by the steps", "tape RB", "unsealed box ran out", "photo", "2 photos", "photo 99",
    "cooler M", "cooler M 4.4C", "cooler M 4.4C 1009", "cooler M at 1009", "cooler Q 46", "cooler M 39.9F",
    "gloves changed", "gloves not changed", "gloves", "witness harbour man", "vessel Example One", "owner yes",
    "split refused", "container 500 ml", "container 16 oz", "wiped", "label RB", "hazards H2S", "flash 61C",
    "appearance black", "colour brown", "odour diesel", "weather calm", "wind SW 4", "watertemp 12C",
    "airtemp 9C", "oiltemp 45C", "note lid chipped", "ok",
)  # fmt: skip
ANSWERS = (
    "yes", "no", "mate, cleared", "not cleared", "1", "2", "3", "4", "5", "9", "03", "3", "shut", "shut 1002 pad",
    "shut now", "same", "later", "because misread", "x", "continue", "none", "tape RB", "5103", "M 4.4C 1009",
    "M", "3/4", "80%", "80", "half", "dunno", "real", "drill", "CH-015", "CH-014", "R1 and R2", "A", "0840",
    "20 min ago", "2.5 m", "2P", "net", "pad", "spill", "duplicate", "old time", "new time",
    "46F", "F", "M 46 F", "M4.2C", "NW", "n, w", "unknown", "no seal", "by the fuel dock", "duplicate of 01", "03 ok",
)  # fmt: skip
COMMANDS = (
    "jar", "JAR", "sample", "case", "ok", "OK 01", "ok 01-03", "ok 01 02", "skip", "wrong", "status", "?", "help",
    "plan", "plan why", "plan oil thick", "done", "what can I still take?", "why", "again", "stop", "cancel", "Jar!", "ok ok",
)  # fmt: skip
LINES = (
    "kit A jars 14 tubes 6 tape ok gloves M L", "kit A jars -3 nets 5 opened 2 tubez 4", "kit", "kit A at van 2", "inspect A",
    "inspect", "restock A", "restock", "used A jars 2", "restocked A all", "what do I buy?", "kit B jars 1400", "NO DRILL black oil",
    "03 seal is 5107 not 5103, misread", "01 time is 1010 not 1002, wrong watch", "01 kind is source", "02 oil is thick",
    "01 number is 04, wrote it wrong", "02 number is 01", "01 colour is brown", "01 nonsense is 4", "03 place is 47.29N 19.95W",
    "01 struck lid leaks", "strike 02", "need number 01 02", "need numbers", "01 E-118", "02 E-118, 03 E-119",
    "cooler M 4.4C at 1210 ice some", "cooler M 9.9", "cooler M 46", "fridge F2 3C", "cooler M opened 3", "cooler M 4.4C 0130",
    "card 03 spill sheen 0802 net seal 5103", "CARD 04 source tank 2P", "card", "method pipe", "litres",
    "suspect Marbel: 2P, bilge", "refused Marbel: go away", "impossible Marbel 2P: dry", "Marbel sails 1500", "refused Zorro",
    "Marbel left", "impossible clean water: ice",
    "CH-014", "CH-900", "CH-900 jar", "need number 03 04", "offer 01 02 to C1", "offer 03 to R2 1002", "offer 01-03 to R1",
    "01 5101 whole 02 5102 cut", "03 5103 whole", "01 unread", "NO 02 lid leaks", "withdraw 01", "answer 03 looked, 5103", "explain 01 in my van", "store 01 fridge locked",
    "reseal 01 5119 witness R2 cut", "box 1 seal 7001 jars 01-03", "offer box 1 to C1", "box 1 7001 whole", "box 1 opened", "return 01 to R1", "paper 01 to Mate", "close paper 01", "split 02 to C1", "retain 01 court order", "release 01 lifted now",
    "jar 4 spill thick 1002", "#5 sheen", "no. 3 is a sheen, seal: 5103", "03 tape XY", "cooler 46", "result 01 02: clean",
    "01 spill sheen 1002 seal 5101, 02 spill sheen 1003 seal 5102", "07 seal is 5105 not 5104, misread", "07 thick seal 5104",
    "dispose 01 with R2 authority letter 77", "send today?", "01 received was 1009, wrong watch", "laboratory told", "result 01 report K-77",
)  # fmt: skip
DANGERS = ("SOS", "sos man in water", "going down the pump room for it", "gas 4 percent", "H2S 20 ppm", "mayday", "dizzy")
NASTY = (
    "", " ", "\x00", "03\x00spill", "\u202e5103 laes", "\u200f01 spill", "²", "٣", "03 fill ²/³", "① ②", "\x1b[2J", "👍",
    "👨‍👩‍👧 03 spill", "0" * 400, "a" * 10_000, "03 spill " + "seal 5103 " * 900, "😀" * 2500, "\ufb00 \ufb01 \u0130 \u0131 \u1e9e", "{parts}",
    "{0} %s %n", "\ufeffjar", "null", "NaN", "1e999", "-0", "01 =", "= is = not =", "01 seal is ²", "\n\n\n", "\r", "\x85", "\u2028",
    "01 spill\n02 sheen seal 5104\n03 pad", "jar\njar", "ok\nok\nok", "[code 0123456789abcdef]", "ab" * 20, "01 position is N",
)  # fmt: skip


@dataclass(frozen=True, repr=False)
class Saying:
    """One thing done on the line: `sort` is text, fitting (an answer to what was
    asked last), press, again (same id), repeat (new id) or nothing.

    `wait_s` before it; `late_s` how long before its receipt it was sent, None where the channel does
    not tell; `pick` chooses among what there is; `with_next` hands it in together with the next one.
    """

    who: str
    sort: str = "text"
    text: str = ""
    wait_s: int = MINUTE_S
    late_s: int | None = None
    pick: int = 0
    position: tuple[float, float] | None = None
    photos: tuple[Attachment, ...] = ()
    with_next: bool = False

    def _repr_pretty_(self, printer: Any, cycle: bool) -> None:
        printer.text(repr(self))

    def __repr__(self) -> str:
        """Only what differs from the defaults, so that a failing walk can be read."""
        told = {f.name: getattr(self, f.name) for f in fields(self)}
        plain = {f.name: f.default for f in fields(self)}
        return f"Saying({', '.join(f'{k}={v!r}' for k, v in told.items() if v != plain[k])})"


PHOTOS = (
    Attachment(sha256="11" * 32, size=1000, media_type="image/jpeg", name="a.jpg", camera_time="2026-10-12T10:02:00"),
    Attachment(
        sha256="22" * 32, size=2000, media_type="image/jpeg", camera_time="2026-10-25T01:30:00", camera_offset="+00:00",
        camera_position=(47.283, -19.951),
    ),
    Attachment(sha256="33" * 32, size=3, media_type="image/jpeg", problem="broken"),
    Attachment(sha256="44" * 32, size=9, media_type="application/pdf", name="x\u202e.pdf", problem="not_image"),
    Attachment(sha256="55" * 32, size=10, media_type="image/png", camera_position=(-90.0, 180.0)),
    Attachment(sha256="66" * 32, size=10, media_type="image/jpeg", camera_time="2027-03-28T01:30:00"),
    Attachment(sha256="77" * 32, size=10, media_type="image/jpeg"),
)  # fmt: skip


def one_of(*values: str) -> st.SearchStrategy[str]:
    return st.sampled_from(values)


def whole_lines() -> st.SearchStrategy[str]:
    """A number and some parts in any order, as the grammar of one line has them."""
    part = st.one_of(
        one_of(*PARTS), one_of(*TIMES), one_of(*PLACES), one_of(*SEALS).map(lambda seal: f"seal {seal}")
    )
    parts = st.lists(part, min_size=1, max_size=7).map(" ".join)
    return st.tuples(one_of("", "", "", "CH-014 ", "CH-900 "), one_of(*NUMBERS), parts).map(
        lambda line: f"{line[0]}{line[1]} {line[2]}"
    )


@st.composite
def mutated(draw: st.DrawFn) -> str:
    """A whole line with a character or a word gone, doubled, swapped, or put in another case."""
    words = draw(whole_lines()).split()
    for _ in range(draw(st.integers(1, 3))):
        at, how = draw(st.integers(0, len(words) - 1)), draw(st.integers(0, 5))
        word = words[at]
        middle = len(word) // 2
        words[at : at + 1] = (
            [word, word],
            [word[:middle] + word[middle + 1 :]],
            [word[:middle], word[middle:]],
            [word.upper()],
            [draw(st.characters(codec="utf-8")) + word],
            [draw(one_of(*ANSWERS)), word],
        )[how]
    return " ".join(words)


def anything() -> st.SearchStrategy[str]:
    return st.text(st.characters(codec="utf-8"), max_size=60)


def texts() -> st.SearchStrategy[str]:
    return st.one_of(
        whole_lines(), whole_lines(), mutated(), one_of(*ANSWERS), one_of(*ANSWERS), one_of(*COMMANDS), one_of(*COMMANDS),
        one_of(*LINES), one_of(*LINES), one_of(*NASTY), one_of(*DANGERS), anything(),
        st.lists(st.one_of(one_of(*PARTS), one_of(*TIMES), one_of(*ANSWERS), one_of(*NUMBERS)), max_size=4).map(" ".join),
        st.lists(whole_lines(), min_size=2, max_size=3).map("\n".join),
    )  # fmt: skip


WAITS = st.sampled_from((0, 1, 20, 60, 60, 60, 300, 1500, 3600, 40_000))
LATE = st.sampled_from((None, None, None, 0, 0, 5, 200, 1900, 7200, 50_000, -90, -7200))
POSITIONS = st.sampled_from(
    ((47.283, -19.951), (47.283, -19.951), (0.0, 0.0), (90.0, 180.0), (-90.0, -180.0), (47.9, -19.9))
)


# An answer that fits each question; a walk takes the one for the question that its sender was asked last.
FITTING = {
    "safety": ("mate, cleared", "yes", "no"),
    "phone": ("yes", "no"),
    "number": ("01", "02", "03", "20", "21", "4"),
    "kind": ("1", "2", "3", "4", "duplicate", "spill"),
    "duplicate_of": ("01", "7"),
    "matrix": ("1", "2", "4", "soil"),
    "tank": ("2P", "4 wing"),
    "take": ("shut 1002 pad", "shut", "shut 1010 jar"),
    "time": ("1002", "now", "0130", "20 min ago"),
    "method": ("1", "2", "3"),
    "fill": ("3/4", "80%", "80"),
    "drawn_by": ("chief",),
    "position": ("47.2830N 19.9510W", "skip", "47.2830N 19.1510W"),
    "place": ("by the steps",),
    "seal": ("5101", "5103", "tape RB", "skip", "E107", "9999"),
    "seal_reason": ("box ran out",),
    "photo": ("skip", "photo"),
    "cooler": ("M 4.4C", "M 4.4C 1009", "M", "Q 3C", "M 46"),
    "confirm": ("ok", "gloves changed ok", "seal 5109", "fill 3/4 ok"),
    "query": ("ok", "5104", "1003"),
    "why": ("misread it", "no", "x", "skip"),
    "renumber": ("04", "5", "01"),
    "resume": ("yes", "later", "2"),
    "case_pick": ("CH-014", "CH-900", "1", "2"),
    "photo_which": ("01", "02", "20"),
    "case.exercise": ("real", "drill"),
    "case.name": ("CH-015", "CH-016", "CH-014"),
    "case.seen": ("sheen off the quay",),
    "case.where": ("47.28N 19.95W",),
    "case.reporter": ("R2",),
    "case.reported_at": ("0840", "0130"),
    "case.going": ("R1 and R2",),
    "case.kit": ("A", "A, B"),
    "case.vessel": ("launch",),
    "kit_size": ("L", "9", "skip", "giant"),
    "kit_used": ("ok", "jars 1 pads 2", "skip"),
    **{f"kit.{item.id}": ("ok", "14", "none", "skip", "wrong", "5 opened 2", "jars 3 nets 2") for item in par_table().item},
    "plan.oil": ("1", "thick", "skip"),
    "plan.extent": ("2", "small", "skip"),
    "plan.suspects": ("Marbel: 2P 2S; Tolva", "nobody", "Marbel and Tolva"),
    "plan.neighbours": ("no", "quay pipe"),
    "plan.tanks": ("2P, fore peak", "skip"),
    "plan.shore": ("sand and rocks", "no"),
    "plan.court": ("3", "yes"),
    "plan.words": ("not without my agent", "skip"),
    "plan.who": ("master", "skip"),
    "plan.when": ("0801", "now", "skip"),
    "plan.split": ("no", "skip"),
}


@st.composite
def saying(draw: st.DrawFn) -> Saying:
    sort = draw(st.sampled_from(("fitting",) * 12 + ("text",) * 10 + ("press", "press", "again", "repeat", "nothing", "position", "photo")))
    text = draw(texts()) if sort == "text" or (sort in ("photo", "position") and draw(st.booleans())) else ""
    return Saying(
        who=draw(st.sampled_from(PEOPLE)),
        sort="text" if sort in ("photo", "position") else sort,
        text=text,
        wait_s=draw(WAITS),
        late_s=draw(LATE),
        pick=draw(st.integers(0, 40)),
        position=draw(POSITIONS) if sort == "position" else None,
        photos=tuple(draw(st.lists(st.sampled_from(PHOTOS), min_size=1, max_size=3))) if sort == "photo" else (),
        with_next=draw(st.sampled_from((False, False, True))),
    )


def walks(longest: int = 15) -> st.SearchStrategy[list[Saying]]:
    return st.lists(saying(), min_size=8, max_size=longest)


STARTS = st.sampled_from(
    (
        "2026-10-12T08:00:00Z",  # an ordinary day
        "2026-10-24T23:20:00Z",  # 00:20 in Lisbon; at 01:00 UTC the clocks go back
        "2026-10-25T00:50:00Z",
        "2027-03-28T00:40:00Z",  # at 01:00 UTC the clocks go forward
    )
)
