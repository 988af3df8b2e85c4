"""Files that came: assigned by caption or open question, else kept in a pile that stays visible."""

from __future__ import annotations

from datetime import datetime

from ..model.board import LoosePhoto
from ..model.entries import UNIT_CHAIN, PhotoAssigned, PhotoKept
from ..model.message import Attachment
from ..model.sample import Sample
from ..rules.checks import distance_words
from ..rules.geodesy import distance_m
from ..rules.photo import differences
from .read_back import label
from .readers.words import NumberTold, read_number
from .record import raise_query
from .turn import Turn
from .walk import ask, ask_again, ask_next

CODES_READ = ("image/jpeg", "image/png", "image/webp")  # what opens without another library


def attach(turn: Turn, sample: Sample) -> list[str]:
    """Every file of this message is on record with the jar; the queries that its camera raised."""
    raised: list[str] = []
    for attachment in turn.message.attachments:
        turn.write(sample.case, PhotoKept(sample=sample.id, photo=attachment, caption=turn.text))
        if attachment.problem is not None:
            raised.append(turn.word(f"photo.{attachment.problem}"))
            continue
        raised.extend(_compare(turn, turn.sample(sample.id), attachment))
        look_for_code(turn, sample, attachment)
    return raised


def look_for_code(turn: Turn, sample: Sample, photo: Attachment) -> None:
    """The label's code will be looked for in this photo, off the reply path."""
    case = turn.case_named(sample.case)
    if photo.media_type in CODES_READ:
        turn.run_errand(
            "photo_code",
            f"{sample.id} {photo.sha256}",
            sample=sample.id,
            sha256=photo.sha256,
            exercise=case is not None and case.exercise,
            sent_us=turn.message.said_us,
        )


def assign(turn: Turn, sample: Sample, loose: list[LoosePhoto]) -> list[str]:
    """Files from the pile are on record with the jar; the queries that their camera raised."""
    raised: list[str] = []
    for photo in loose:
        turn.write(sample.case, PhotoAssigned(sample=sample.id, photo_id=photo.id, photo=photo.photo))
        turn.use_photo(photo.id)
        raised.extend(_compare(turn, turn.sample(sample.id), photo.photo))
        look_for_code(turn, sample, photo.photo)
    return raised


def _compare(turn: Turn, sample: Sample, attachment: Attachment) -> list[str]:
    """The camera's time and place beside the told ones: the difference, never which is right."""
    limits = turn.trade.limits
    found = differences(
        attachment,
        event_us=sample.event_us,
        position=sample.place,
        zone=turn.trade.zone,
        limit_minutes=limits.photo_minutes,
        limit_m=limits.photo_metres,
        distance_m=distance_m,
    )
    raised: list[str] = []
    for difference in found:
        if difference.kind == "time":
            text = turn.word("query.photo_time", minutes=f"{abs(difference.amount):.0f}")
        else:
            text = turn.word("query.photo_place", distance=distance_words(difference.amount))
        raised.append(raise_query(turn, sample, "photo", f"photo_{difference.kind}", text))
    return raised


def hear_files(turn: Turn) -> bool:
    """A message with files and no line of its own: the walk's jar takes them, else one question a batch."""
    files = turn.message.attachments
    if not files:
        return False
    if is_card(turn.text):
        keep_loose(turn)
        _say_beside(turn, turn.word("photo.card"))
        return True
    problem = next((file.problem for file in files if file.problem), None)
    complaint = turn.word(f"photo.{problem}") + " " if problem else ""
    conversation = turn.conversation
    if (
        conversation.walk == "sample"
        and conversation.sample is not None
        and conversation.question != "number"
    ):
        sample = turn.sample(conversation.sample)
        turn.case = turn.case_named(sample.case)
        attach(turn, sample)
        _go_on(turn, turn.sample(sample.id), complaint)
        return True
    keep_loose(turn)
    if conversation.question is not None and conversation.question != "photo_which":
        ask_again(turn, complaint + turn.word("photo.kept", count=len(files)))
        return True
    guess = _by_camera_time(turn, files)
    text = turn.word("photo.which" if guess is None else "photo.guess", count=len(files), number=guess or "")
    ask(turn, "photo_which", complaint + text)
    return True


def _say_beside(turn: Turn, said: str) -> None:
    """Said; a question that is open is asked again behind it."""
    if turn.conversation.question is not None:
        ask_again(turn, said)
    else:
        turn.say(said)


def is_card(text: str) -> bool:
    """True where a text says that it comes from a filled card."""
    return text.lower().split()[:1] == ["card"]


def keep_loose(turn: Turn) -> None:
    """Files that belong to no jar yet are on record and stay visible."""
    chain = turn.case.name if turn.case is not None else UNIT_CHAIN
    for file in turn.message.attachments:
        turn.write(chain, PhotoKept(photo=file, caption=turn.text))


def _go_on(turn: Turn, sample: Sample, complaint: str) -> None:
    query = sample.open_query
    if query is not None and query.field == "photo":
        text = turn.word("query.reply", number=label(turn, sample), queries=query.text)
        turn.note(waiting=(sample.id,))
        turn.say(complaint + text, asks="query")
        return
    ask_next(turn, sample, complaint)


def _by_camera_time(turn: Turn, files: tuple[Attachment, ...]) -> str | None:
    """The person's only open jar taken within 5 min of the first camera time: asked, never assumed."""
    camera = files[0].camera_time
    if camera is None:
        return None
    shot = datetime.fromisoformat(camera)
    near = []
    for sample in turn.find(("open", turn.person.name)):
        value = sample.value("time")
        if not isinstance(value, dict):
            continue
        taken = datetime.fromisoformat(str(value["at"])).replace(tzinfo=None)
        if abs((taken - shot).total_seconds()) <= 300:
            near.append(sample.number)
    return near[0] if len(near) == 1 else None


def answer_which(turn: Turn, text: str) -> bool:
    """The pile goes to the jar that a person names."""
    case = turn.case
    number = read_number(text)
    if case is None or not isinstance(number, NumberTold):
        return False
    numbered = [s for s in turn.find(("number", case.name, number.key)) if s.struck is None]
    samples = [s for s in numbered if s.declared_by == turn.person.name] or numbered
    if not samples:
        turn.say(turn.word("photo.no_jar", number=number.number), asks="photo_which")
        return True
    sample = samples[-1]
    batch = _last_batch(turn, case.name)
    raised = assign(turn, sample, batch)
    turn.note(question=None)
    said = turn.word("photo.assigned", count=len(batch), number=label(turn, sample))
    turn.say(" ".join((said, *raised)))
    return True


def _last_batch(turn: Turn, case: str) -> list[LoosePhoto]:
    """The files that came together last, of this case or of none."""
    loose = [photo for photo in turn.loose_photos() if photo.chain in (case, UNIT_CHAIN)]
    last_us = max((photo.received_us for photo in loose), default=0)
    return [photo for photo in loose if photo.received_us == last_us]
