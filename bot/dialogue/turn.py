"""One message's turn: what is read from the board, and what follows, kept apart until all is thought."""

from __future__ import annotations

from collections.abc import Iterable
from operator import attrgetter

from ..model.alert import Alert
from ..model.base import JsonValue
from ..model.board import Board, Conversation, LoosePhoto
from ..model.case import Case, fold_case
from ..model.cold import Life, key_of, life_of, rows_of
from ..model.entries import (
    UNIT_CHAIN,
    AlertRaised,
    Body,
    Draft,
    KitInspected,
    PaperKept,
    PhotoKept,
    ResultAttached,
    SampleDeclared,
)
from ..model.errand import Errand
from ..model.fold_sample import fold
from ..model.keys import Key, by_receipt, keys_of
from ..model.message import AlertMark, Choice, Incoming, MessageState
from ..model.people import Person, fold_unit
from ..model.sample import Sample
from ..rules.roles import Action, may
from ..rules.worded import DEFAULT, recipe
from .outcome import Outcome, Say
from .trade import Trade
from .wording import Words

__all__ = ["Trade", "Turn"]


class Turn:
    """A message being thought about. Lookups may raise Missing: the desk reads and thinks again.

    `exercise` is set where a text speaks of something that is an exercise's or not, whatever the case;
    `edited` where it is heard in place of what its author sent before; `hushed` where somebody may be in
    danger, so that no form is asked on.
    """

    def __init__(
        self, message: Incoming, sha256: str | None, board: Board, trade: Trade, person: Person
    ) -> None:
        self.message = message
        self.board = board
        self.trade = trade.spoken(person.language)
        self.person = person
        self.text = message.words
        self.conversation = board.conversations.get(message.address) or Conversation(address=message.address)
        self.case: Case | None = None
        self.unit = board.unit
        self.exercise: bool | None = None
        self.phone_of: str | None = None
        self.proven = False
        self.edited = False
        self.code_note = ""
        self.hushed = False
        self._sha256 = sha256
        self._samples: dict[str, Sample] = {}
        self._cases: dict[str, Case] = {}
        self._open_cases: list[Case] | None = None
        self._drafts: list[Draft] = []
        self._says: list[Say] = []
        self._used_photos: list[str] = []
        self._errands: list[Errand] = []
        self._used_codes: list[str] = []
        self._adopts = False

    # --- reading ------------------------------------------------------------------------------

    def find(self, key: Key) -> list[Sample]:
        """The samples under a key as they stand within this turn, oldest first."""
        found = self.board.find(key)
        changed = self._samples
        if not changed:
            return found
        kept = [s for s in found if s.id not in changed]
        return sorted(kept + [s for s in changed.values() if key in keys_of(s)], key=by_receipt)

    def sample(self, sample_id: str) -> Sample:
        """The sample as it stands within this turn."""
        if sample_id in self._samples:
            return self._samples[sample_id]
        return self.board.find(("id", sample_id))[0]

    def jars_of(self, case: str) -> list[Sample]:
        """All jars of a case as they stand within this turn, oldest first: for what needs the whole case."""
        return self.find(("jars", case))

    def case_named(self, name: str) -> Case | None:
        """An open case as it stands within this turn."""
        return self._cases.get(name) or self.board.cases.get(name)

    def reopen(self, name: str) -> None:
        """A closed case is looked at as it stood. Raises Missing."""
        closed = self.board.any_case(name)
        if closed is not None:
            self._cases[name] = closed

    def closed_case(self, word: str) -> str | None:
        """The closed case of this name, in any case of letters."""
        names = self.board.cases_like(word)
        return next((name for name in names if self.case_named(name) is None), None)

    def open_cases(self) -> list[Case]:
        """The open cases this person works on, by name; offices and custodians see all."""
        if self._open_cases is None:
            self._open_cases = self._find_open_cases()
        return self._open_cases

    def _find_open_cases(self) -> list[Case]:
        known = self.board.cases | self._cases if self._cases else self.board.cases
        cases = [case for case in known.values() if case.state == "open"]
        mine = [case for case in cases if not case.people or self.person.name in case.people]
        if not mine and may(self.person, Action.WORK_ON_ALL_CASES):
            mine = cases
        return sorted(mine, key=attrgetter("name")) if len(mine) > 1 else mine

    def alerts(self, key: Key) -> list[Alert]:
        """The alerts under a key as they stand before this turn, oldest first."""
        return self.board.find_alerts(key)

    def every_case(self) -> list[Case]:
        """All open cases by name: jars are handed on to people who work on no case."""
        return [case for _, case in sorted((self.board.cases | self._cases).items())]

    def need(self, keys: Iterable[Key]) -> None:
        """All of these can be looked up, and were read in one go."""
        self.board.need(keys)

    def used_numbers(self, case: str, kit: str) -> set[int]:
        """The numbers of a kit's block that jars of this case bear."""
        here = {
            int(s.number_key) for s in self._samples.values() if s.case == case and s.number_key.isdigit()
        }
        return self.board.used_numbers(case, kit) | here

    def taken_with(self, kit: str) -> tuple[Sample, ...]:
        """The jars numbered from a kit's block since its inspection began."""
        return self.board.taken_with(kit)

    def loose_photos(self) -> list[LoosePhoto]:
        """This person's files that no jar has yet, oldest first."""
        loose = self.board.loose_of(self.person.name)
        kept = [photo for id_, photo in loose.items() if id_ not in self._used_photos]
        return [photo for photo in kept if photo.photo.problem != "voice"]  # those show no jar

    def life(self, cooler: str) -> Life:
        """A cooler's life as it stands within this turn."""
        rows = [*self.board.cold_rows_of(cooler), *rows_of(self._drafts, self.board.heads, cooler)]
        return life_of(self.cooler_named(cooler), rows)

    def cooler_named(self, name: str) -> str:
        """The cooler's name as it is set up, however it was typed; one that is not set up as typed."""
        return next((one for one in self.board.unit.coolers if key_of(one) == key_of(name)), name)

    # --- writing ------------------------------------------------------------------------------

    def next_id(self, chain: str) -> str:
        """The id that the next entry of a chain will bear."""
        written = sum(1 for draft in self._drafts if draft.chain == chain)
        return f"{chain}#{self.board.heads.get(chain, (0, ''))[0] + written + 1}"

    def write(self, chain: str, body: Body, event: str | None = None) -> None:
        """The entry stands in this turn, and what it changes is seen by later lookups."""
        draft = Draft(
            chain=chain,
            body=body,
            author=self.person.name,
            channel=self.message.channel,
            said_us=self.message.said_us,
            received_us=self.message.received_us,
            message=self._sha256,
            event=event,
            phone=self.phone_of,
        )
        self._drafts.append(draft)
        for id_ in body.about:
            known = self._samples.get(id_)
            if known is None and not isinstance(body, SampleDeclared):
                known = self.sample(id_)
            self._samples[id_] = fold(known, draft)
        if chain == UNIT_CHAIN:
            self.unit = fold_unit(self.unit, draft, self.board.behind(getattr(body, "addresses", ())))
        elif not body.about:
            case = fold_case(self.case_named(chain), draft)
            if case is not None:
                self._cases[chain] = case
                self._open_cases = None
                self.case = case if self.case is not None and self.case.name == chain else self.case

    @property
    def kept_files(self) -> bool:
        """True where this turn has put the message's files on record, or had them fetched."""
        return any(errand.kind == "fetch" for errand in self._errands) or any(
            isinstance(draft.body, (PhotoKept, PaperKept, ResultAttached))
            or (isinstance(draft.body, KitInspected) and draft.body.photos)
            for draft in self._drafts
        )

    def use_photo(self, photo_id: str) -> None:
        """This file is no longer loose."""
        self._used_photos.append(photo_id)

    def note(self, **change: object) -> None:
        """The conversation stands like this from now on."""
        self.conversation = self.conversation.changed(change)

    def use_code(self, commitment: str) -> None:
        """This code is good no longer."""
        self._used_codes.append(commitment)

    def adopt(self) -> None:
        """What waited from this address will be thought about as its person's."""
        self._adopts = True

    def run_errand(self, kind: str, subject: str, due_us: int | None = None, **doc: JsonValue) -> None:
        """Slow work is asked for with what this turn writes; due now, unless an instant is given."""
        due_us = self.message.received_us if due_us is None else due_us
        self._errands.append(Errand(kind=kind, subject=subject, due_us=due_us, doc=doc))

    # --- saying -------------------------------------------------------------------------------

    def word(self, key: str, **values: object) -> str:
        """A sentence of the catalogue."""
        return self.trade.words.say(key, **values)

    def say(
        self,
        text: str,
        asks: str | None = None,
        choices: tuple[Choice, ...] = (),
        catch_up: str | None = None,
    ) -> None:
        """The sender will be answered with this; an exercise says so first."""
        marked = self._marked(text)
        self._says.append(
            Say(
                self.message.address,
                self.person.name or None,
                marked,
                asks=asks,
                choices=choices,
                catch_up=catch_up,
            )
        )

    def add_to_answer(self, text: str) -> bool:
        """The last answer to the sender says this too; False where it asks something or there is none."""
        place = self._place_of_answer()
        if place is None or self._says[place].asks is not None or self._says[place].catch_up is not None:
            return False
        self._says[place] = self._says[place]._replace(text=f"{self._says[place].text} {text}")
        return True

    def _place_of_answer(self) -> int | None:
        """Where the last text to the sender stands among what is said."""
        mine = [n for n, say in enumerate(self._says) if say.address == self.message.address]
        return mine[-1] if mine else None

    def take_back_answer(self) -> str | None:
        """The last answer to the sender, to be said with more; None where it asks or has another mark."""
        place = self._place_of_answer()
        last = self._says[place] if place is not None else None
        if place is None or last is None or last.asks or last.catch_up:
            return None
        mark, word = self.mark, self.word("exercise")
        if mark != (word if last.text.startswith(f"{word} ") else ""):
            return None
        del self._says[place]
        return last.text.removeprefix(f"{mark} ") if mark else last.text

    def tell(self, person: Person, text: str, alert: AlertMark | None = None) -> None:
        """Somebody else will be told, at the first of their addresses that this line can reach."""
        address = person.address_by(self.trade.channels)
        if address is not None:
            said = self._marked(
                self.trade.say_again(person.language, text), self.trade.spoken(person.language).words
            )
            self._says.append(Say(address, person.name, said, alert=alert))

    def raise_alert(
        self, kind: str, subject: str, level: str, people: tuple[Person, ...], text: str, cause: str = ""
    ) -> None:
        """The alert is on the unit's chain and each of these people is told."""
        alert_id = f"A{self.next_id(UNIT_CHAIN).rpartition('#')[2]}"
        told = tuple(person.name for person in people)
        case = self.case or self._case_talked_of()
        body = AlertRaised(
            alert=alert_id,
            alert_kind=kind,
            subject=subject,
            level=level,
            told=told,
            text=self.trade.say_again(DEFAULT, text) if text else text,
            said=recipe(text),
            cause=cause,
            cases=() if case is None else (case.name,),
            exercise=case is not None and case.exercise,
        )
        self.write(UNIT_CHAIN, body)
        mark = AlertMark(id=alert_id, kind=kind, subject=subject, level=level)
        for person in people:
            self.tell(person, text, mark)

    @property
    def mark(self) -> str:
        """The word that stands before a text of this turn: EXERCISE, or nothing."""
        return self._marked("").strip()

    def _marked(self, text: str, words: Words | None = None) -> str:
        case = self.case or self._case_talked_of()
        exercise = self.exercise if self.exercise is not None else case is not None and case.exercise
        return f"{(words or self.trade.words).say('exercise')} {text}" if exercise else text

    def _case_talked_of(self) -> Case | None:
        """The case of the jar that this conversation is about, else the conversation's own."""
        sample = self.conversation.sample
        name = sample.rpartition("#")[0] if sample is not None else self.conversation.case
        return None if name is None else self.case_named(name)

    def outcome(self, state: MessageState = MessageState.TAKEN) -> Outcome:
        """Everything that this turn decided."""
        return Outcome(
            state=state,
            conversation=self.conversation,
            drafts=self._drafts,
            says=self._says,
            samples=self._samples,
            cases=self._cases,
            errands=self._errands,
            unit=self.unit if self.unit is not self.board.unit else None,
            used_codes=tuple(self._used_codes),
            adopts=self._adopts,
        )
