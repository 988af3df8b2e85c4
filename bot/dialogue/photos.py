"""Files that came: assigned by caption or open question, else kept in a pile that stays visible."""

from __future__ import annotations

from datetime import datetime

from ..model.board import LoosePhoto
from ..model.entries import UNIT_CHAIN, NoteMade, PhotoAssigned, PhotoDeclared, PhotoKept
from ..model.message import Attachment
from ..model.sample import Sample
from ..rules.checks import distance_words
from ..rules.geodesy import distance_m
from ..rules.photo import differences
from .one_line import scan
from .queries import span_text
from .read_back import label
from .readers.words import NumberTold, read_number
from .readings import Source
from .record import raise_query, tell, would_change
from .turn import Turn
from .walk import ask, ask_again, ask_next

CODES_READ = ("image/jpeg", "image/png", "image/webp")  # what opens without another library
VOICE = "voice"  # the problem of a file that a person must listen to and type


def attach(turn: Turn, sample: Sample) -> list[str]:
    """Every file of this message is on record with the jar; the queries that its camera raised."""
    raised: list[str] = []
    for attachment in turn.message.attachments:
        turn.write(sample.case, PhotoKept(sample=sample.id, photo=attachment, caption=turn.text))
        if attachment.problem == VOICE:
            continue
        if attachment.problem is not None:
            continue  # no query: `complaint_of` says it, and the jar is not in doubt for it
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


def take_files(turn: Turn, sample: Sample) -> tuple[list[str], list[str]]:
    """The files here are on record with the jar, those still to come are sent for.

    (queries that the camera raised, what is to be said of the files themselves).
    """
    queries = attach(turn, sample)
    complaint = complaint_of(turn).strip()
    return queries, [*([complaint] if complaint else []), *fetch(turn, sample)]


def fetch(turn: Turn, sample: Sample | None) -> list[str]:
    """Files that are still at the channel are announced and sent for; what is to be said of them."""
    declared = turn.message.declared or ()
    coming = [file for file in declared if not file.too_large]
    for file in coming:
        if sample is not None and (file.kind == "photo" or (file.media_type or "").startswith("image/")):
            turn.write(sample.case, PhotoDeclared(sample=sample.id))
    if coming:
        message = turn.message
        turn.run_errand(
            "fetch",
            message.key,
            channel=message.channel,
            account=message.account,
            caption=turn.text,
            sample=sample.id if sample is not None else None,
            by=turn.person.name,
            files=[file.model_dump() for file in coming],
        )
    said = [turn.word("file.too_large")] if len(coming) < len(declared) else []
    if any(file.kind == VOICE for file in coming):
        said.append(turn.word("voice.coming"))
    return said


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
            text = turn.word("query.photo_time", span=span_text(turn, round(abs(difference.amount))))
        else:
            text = turn.word("query.photo_place", distance=distance_words(difference.amount))
        raised.append(raise_query(turn, sample, "photo", f"photo_{difference.kind}", text))
    return raised


def hear_files(turn: Turn) -> bool:
    """A message with files and no line of its own: the walk's jar takes them, else one question a batch."""
    if not turn.message.has_files:
        return False
    if is_card(turn.text):
        keep_loose(turn)
        _say_beside(turn, turn.word("photo.card"))
        return True
    complaint = complaint_of(turn)
    conversation = turn.conversation
    if (
        conversation.walk == "sample"
        and conversation.sample is not None
        and conversation.question != "number"
    ):
        sample = turn.sample(conversation.sample)
        turn.case = turn.case_named(sample.case)
        attach(turn, sample)  # a query that the camera raised is put below, with the jar's others
        _tell_caption(turn, turn.sample(sample.id))
        said = [*fetch(turn, sample), *_hint(turn, sample)]
        _go_on(turn, turn.sample(sample.id), "".join(f"{one} " for one in said) + complaint)
    elif turn.message.declared:
        said = [*fetch(turn, None), *_coming(turn)]
        if conversation.question is None:
            turn.say(" ".join(said))
        else:
            ask_again(turn, " ".join(said))
    else:
        put_on_pile(turn, complaint)
    return True


def _tell_caption(turn: Turn, sample: Sample) -> None:
    """A caption that wholly says something new of the jar is on record with it; other words are a note."""
    if not turn.text:
        return
    found = scan(turn.text, Source(turn.trade, turn.message), numbered=False)
    if not found.facts or found.left or found.asks or would_change(sample, tuple(found.facts)):
        turn.write(sample.case, NoteMade(words=turn.text))
    else:
        tell(turn, sample, tuple(found.facts))


def _say_beside(turn: Turn, said: str) -> None:
    """Said; a question that is open is asked again behind it."""
    if turn.conversation.question is not None:
        ask_again(turn, said)
    else:
        turn.say(said)


def is_card(text: str) -> bool:
    """True where a text says that it comes from a filled card."""
    return text.lower().split()[:1] == ["card"]


def _hint(turn: Turn, sample: Sample) -> list[str]:
    """Said with a jar's first photo that was made smaller on its way."""
    small = any(file.kind == "photo" for file in turn.message.declared or ())
    return [turn.word("photo.hint")] if small and not sample.photos else []


def _coming(turn: Turn) -> list[str]:
    count = sum(1 for file in turn.message.declared or () if not file.too_large and file.kind != VOICE)
    return [turn.word("photo.coming", count=count)] if count else []


def complaint_of(turn: Turn) -> str:
    """What is wrong with the first file that is no photo, with a space behind it; else nothing."""
    files = turn.message.attachments
    problem = next((file.problem for file in files if file.problem not in (None, VOICE)), None)
    return turn.word(f"photo.{problem}") + " " if problem else ""


def put_on_pile(turn: Turn, complaint: str) -> None:
    """The files are kept without a jar, and which jar they show is asked once for the batch."""
    conversation = turn.conversation
    files = tuple(file for file in turn.message.attachments if file.problem != VOICE)
    keep_loose(turn)
    if not files:
        return
    if conversation.question is not None and conversation.question != "photo_which":
        ask_again(turn, complaint + turn.word("photo.kept", count=len(files)))
        return
    guess = _by_camera_time(turn, files)
    text = turn.word("photo.which" if guess is None else "photo.guess", count=len(files), number=guess or "")
    ask(turn, "photo_which", complaint + text)


def keep_loose(turn: Turn) -> None:
    """Files that belong to no jar yet are on record and stay visible; those still to come are sent for."""
    chain = turn.case.name if turn.case is not None else UNIT_CHAIN
    for file in turn.message.attachments:
        turn.write(chain, PhotoKept(photo=file, caption=turn.text))
    if not turn.kept_files:
        fetch(turn, None)


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
        told = sample.instant("time")
        if told is None:
            continue
        taken = datetime.fromisoformat(told[1]).replace(tzinfo=None)
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
