"""From a request's body to a message on disk."""

from __future__ import annotations

import hmac
from collections.abc import Mapping

from starlette.datastructures import UploadFile

from bot.model.errors import FileTooLarge, StoreUnavailable
from bot.model.message import Attachment, Incoming, MessageState, Receipt

from .body import Body, chunks
from .fields import Said
from .parts import Parts, Refusal

NOTHING = Refusal(422, "There was nothing to send: type, press, or add a photo or a position.")
NOT_KEPT = Refusal(503, "The line could not store that just now; send it again.", retry_after_s=5)
TOO_MANY = Refusal(429, "Too many texts from here; nothing more is kept for an hour. Call your supervisor.")
NAME_CHARS = 200


async def take_in(parts: Parts, address: str, body: Body, said: Said | Refusal) -> Receipt | Refusal:
    """Return a receipt only after the commit that holds the message and its files, or why not."""
    try:
        if isinstance(said, Refusal):
            return said
        if said.empty and not body.chosen:
            return NOTHING
        attachments = tuple([await _receive(parts, file) for file in body.chosen])
        return _told(await parts.take(_message(parts, address, said, attachments)))
    except FileTooLarge as error:
        return Refusal(413, str(error))
    except StoreUnavailable:
        return NOT_KEPT
    finally:
        await body.close()


def _told(receipt: Receipt) -> Receipt | Refusal:
    return TOO_MANY if receipt.state is MessageState.DROPPED else receipt


async def _receive(parts: Parts, file: UploadFile) -> Attachment:
    """Store one file as it came, under the last part of its name."""
    name = (file.filename or "").replace("\\", "/").rpartition("/")[2]
    kept = "".join(sign for sign in name if sign.isprintable())[:NAME_CHARS]
    return await parts.receive_file(chunks(file), kept or None)


def _message(parts: Parts, address: str, said: Said, attachments: tuple[Attachment, ...]) -> Incoming:
    """Return the message. Browsers make the id, so it is unique only together with the person."""
    channel, _, account = address.partition(":")
    return Incoming(
        channel=channel,
        account=account,
        message_id=f"{account}:{said.id}",
        received_us=parts.clock.now_us(),
        sent_us=said.sent_us,
        text=said.text,
        press=said.press,
        reply_to=said.reply_to,
        position=said.position,
        attachments=attachments,
    )


def fields_of_plain_form(fields: Mapping[str, str], form_key: str) -> dict[str, str] | Refusal:
    """Return the fields of a message from those of the form without script.

    Its id is made with the page. The words go into it too: a page that a browser shows again with
    its old id must not make a second message look like the first. They go in under the key of the
    page's form: ids stay on record, and a code among the words could be found again by trying all.
    A press names its line first.
    """
    text, word = fields.get("text", ""), fields.get("word", "")
    key, _, press = fields.get("press", "").partition(" ")
    if text.strip() and (word or press):
        return Refusal(422, "Send your text or clear it, then press that again.")
    said = "\0".join((word or text, key, press)).encode(errors="replace")
    words = hmac.new(form_key.encode(errors="replace"), said, "sha256").hexdigest()
    message_id = f"{fields.get('id', '')}-{words[:12]}"
    return {"id": message_id, "text": word or text, "press": press, "reply_to": key}
