"""What Telegram gave, as messages of ours. Source: the Bot API's own types, read by their library.

Updates come as plain dictionaries, so that one the library cannot read is kept as it came and holds up
nothing behind it.
"""

from __future__ import annotations

import json
from dataclasses import dataclass, field
from typing import Any

from telegram import CallbackQuery, Message, Update
from telegram.error import TelegramError

from ..model.message import Declared, Incoming, SharedPosition

NAME = "telegram"
KINDS = ("message", "edited_message", "callback_query")
MOST_BYTES = 20_000_000  # what the Bot API lets a bot download
ADMIN = ("new_chat_members", "left_chat_member", "group_chat_created", "supergroup_chat_created")
LONGEST = 64_000  # characters of an update that cannot be read; it is a sign of a fault, not a message


@dataclass(frozen=True)
class Heard:
    """An update read: the message, and what else must be done with it once it is on disk."""

    message: Incoming | None
    album: str | None = None
    callback: str | None = None
    pressed_in: int | None = None
    moved_to: str | None = None
    raw: dict[str, Any] = field(default_factory=dict)


def hear(raw: dict[str, Any], bot_id: str, now_us: int) -> Heard:
    """The update, read; one that cannot be read as a message that is only kept."""
    id_ = f"{bot_id}.{raw.get('update_id')}"
    try:
        update = Update.de_json(raw, None)
        read = _read(update, id_, now_us)
    except (TelegramError, ArithmeticError, AttributeError, LookupError, TypeError, ValueError):
        return Heard(_unread(raw, id_, now_us), raw=raw)
    return read


def _read(update: Update, id_: str, now_us: int) -> Heard:
    if update.callback_query is not None:
        return _pressed(update.callback_query, id_, now_us)
    message = update.message or update.edited_message
    if message is None:
        raise ValueError("neither message nor button")
    if message.migrate_to_chat_id is not None:
        return Heard(None, moved_to=str(message.migrate_to_chat_id), raw={"chat": str(message.chat.id)})
    edited = update.edited_message is not None
    if (edited and message.location is not None) or any(getattr(message, name) for name in ADMIN):
        return Heard(None)  # a phone that moves, and a group's own affairs, are nobody's words
    declared, refused = _files(message), None
    text = message.text or message.caption or ""
    position = _position(message)
    if message.contact is not None:
        refused = "contact"
    elif not (text or declared or position):
        refused = "other"
    heard = Incoming(
        channel=NAME,
        account=str(message.chat.id),
        message_id=id_,
        received_us=now_us,
        sent_us=int((message.edit_date or message.date).timestamp()) * 1_000_000,
        text="" if refused == "contact" else _plain(text),
        reply_to=str(message.reply_to_message.message_id) if message.reply_to_message else None,
        position=position,
        edits=str(message.message_id) if edited else None,
        declared=declared if declared and not edited else None,
        refused=refused,
    )
    return Heard(heard, album=message.media_group_id if declared and not edited else None)


def _plain(text: str) -> str:
    """The words without what makes them a command here: "/jar@line 04" is "jar 04"."""
    if not text.startswith("/"):
        return text
    command, _, rest = text[1:].partition(" ")
    word = command.partition("@")[0]
    if word == "start":
        return rest or "?"
    return f"{word} {rest}".strip()


def _pressed(query: CallbackQuery, id_: str, now_us: int) -> Heard:
    """A button: its data is the question, the state that it was shown in, and the choice."""
    message = query.message
    if message is None or query.data is None:
        raise ValueError("a button without its message")
    _, _, rest = query.data.partition("/")
    ticket, slash, choice = rest.partition("/")
    if not slash or not choice:
        raise ValueError("a button that is none of ours")
    heard = Incoming(
        channel=NAME,
        account=str(message.chat.id),
        message_id=id_,
        received_us=now_us,
        press=choice,
        ticket=ticket,
        reply_to=str(message.message_id),
    )
    return Heard(heard, callback=query.id, pressed_in=message.message_id)


def _position(message: Message) -> SharedPosition | None:
    place = message.location or (message.venue.location if message.venue is not None else None)
    if place is None:
        return None
    return SharedPosition(lat=place.latitude, lon=place.longitude, accuracy_m=place.horizontal_accuracy)


def _files(message: Message) -> tuple[Declared, ...]:
    """The file of the message, as it is spoken of; a photo in its largest size."""
    if message.photo:
        best = max(message.photo, key=lambda size: size.width * size.height)
        return (_declared(best, "photo"),)
    if message.voice is not None:
        return (_declared(message.voice, "voice"),)
    for held in (message.document, message.audio, message.video, message.video_note, message.animation):
        if held is not None:
            return (_declared(held, "document"),)
    return ()


def _declared(held: Any, kind: str) -> Declared:
    size = held.file_size or 0
    name = getattr(held, "file_name", None)
    return Declared(
        file=held.file_id,
        kind=kind,
        size=size,
        name="".join(sign for sign in name if sign.isprintable())[:200] if name else None,
        media_type=getattr(held, "mime_type", None),
        too_large=size > MOST_BYTES,
    )


def _unread(raw: dict[str, Any], id_: str, now_us: int) -> Incoming:
    """Kept as it came, but for its account, which stands in the record only as a commitment."""
    account = _account(raw)
    text = json.dumps(raw, ensure_ascii=True, sort_keys=True)[:LONGEST]
    if account is not None:
        text = text.replace(account, "[account]")
    told = {"account": account or "unknown", "message_id": id_, "received_us": now_us}
    return Incoming.model_validate({"channel": NAME, "unread": text, **told})


def _account(raw: dict[str, Any]) -> str | None:
    """The chat, where that much can be read."""
    for kind in KINDS:
        held: Any = raw.get(kind)
        if kind == "callback_query" and isinstance(held, dict):
            held = held.get("message")
        chat = held.get("chat") if isinstance(held, dict) else None
        id_ = chat.get("id") if isinstance(chat, dict) else None
        if isinstance(id_, int):
            return str(id_)
    return None


def as_album(parts: list[Heard]) -> Heard:
    """Several parts of one album as one message: the files in their order, one part's caption."""
    messages = [part.message for part in parts if part.message is not None]
    first, last = messages[0], messages[-1]
    whole = first.model_copy(
        update={
            "message_id": first.message_id if len(messages) == 1 else f"{first.message_id}-{last.message_id}",
            "text": next((message.text for message in messages if message.text), ""),
            "declared": tuple(file for message in messages for file in message.declared or ()),
        }
    )
    return Heard(whole)
