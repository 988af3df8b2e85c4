"""The web chat as channel and bell."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncGenerator

from bot.channels.webchat import WebChat
from bot.model.message import Outgoing


def text_to(account: str) -> Outgoing:
    return Outgoing(channel="web", account=account, text="03 on record.")


async def rings_again(rings: AsyncGenerator[None]) -> bool:
    """Whether the bell rings without another text; the listening ends with this."""
    ring = asyncio.ensure_future(anext(rings))
    await asyncio.sleep(0)  # one turn of the loop is all that a ring already there needs
    done = ring.done()
    ring.cancel()
    await asyncio.wait({ring})
    await rings.aclose()
    return done


async def test_a_listener_is_rung_at_the_start_and_after_each_text_to_its_address() -> None:
    chat = WebChat()
    rings = chat.listen("web:r1")
    await anext(rings)
    await chat.send(text_to("r1"))
    await asyncio.wait_for(anext(rings), 5)
    await rings.aclose()


async def test_a_text_to_another_address_rings_nobody() -> None:
    chat = WebChat()
    rings = chat.listen("web:r1")
    await anext(rings)
    await chat.send(text_to("r2"))
    assert await rings_again(rings) is False


async def test_a_text_between_two_waits_is_not_missed() -> None:
    chat = WebChat()
    rings = chat.listen("web:r1")
    await anext(rings)
    await chat.send(text_to("r1"))
    await asyncio.wait_for(anext(rings), 5)
    await rings.aclose()


async def test_a_run_of_texts_rings_once() -> None:
    chat = WebChat()
    rings = chat.listen("web:r1")
    await anext(rings)
    await chat.send(text_to("r1"))
    await chat.send(text_to("r1"))
    await asyncio.wait_for(anext(rings), 5)
    assert await rings_again(rings) is False


async def test_two_pages_of_one_address_are_both_rung() -> None:
    chat = WebChat()
    first, second = chat.listen("web:r1"), chat.listen("web:r1")
    await anext(first)
    await anext(second)
    await chat.send(text_to("r1"))
    await asyncio.wait_for(asyncio.gather(anext(first), anext(second)), 5)
    await first.aclose()
    await second.aclose()


async def test_nothing_is_kept_for_an_address_without_a_page() -> None:
    chat = WebChat()
    await chat.send(text_to("r1"))
    assert chat.addresses == frozenset()
    rings = chat.listen("web:r1")
    await anext(rings)
    assert chat.addresses == {"web:r1"}
    await rings.aclose()
    assert chat.addresses == frozenset()


async def test_closing_ends_every_listener() -> None:
    chat = WebChat()
    rings = chat.listen("web:r1")
    await anext(rings)
    chat.close()
    rung = [ring async for ring in rings]
    assert len(rung) <= 1
