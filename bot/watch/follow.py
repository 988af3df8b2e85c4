"""What follows from what was told, in the same transaction: one table, a function a kind of entry."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from ..model.case import Case
from ..model.entries import (
    AddressesEnrolled,
    AlertClosed,
    AlertRaised,
    AlertTaken,
    Body,
    CaseClosed,
    CoolerCorrected,
    CoolerRead,
    CustodyOffered,
    CustodyReceived,
    CustodyRefused,
    DifferenceAnswered,
    DoneSaid,
    Draft,
    KitInspected,
    KitUsed,
    OfferWithdrawn,
    PersonBack,
    PersonOut,
    Resealed,
    SampleCorrected,
    SampleTold,
)
from ..model.people import Unit
from ..model.sample import Sample
from .cold import hear_reading
from .custody import hear_moved, hear_offer, hear_told
from .ended import hear_done, hear_enrolled, hear_seal
from .holding import hear_holding
from .kits import hear_closed, hear_kit
from .ladder import hear_alert
from .people import hear_back, hear_out
from .scene import Scene, Watched
from .struck import hear_corrected
from .window import hear_moving


def hear_jar(scene: Scene, draft: Draft) -> None:
    """Of a jar: whether it is in the cold yet, and which clock runs on it."""
    hear_told(scene, draft)
    hear_holding(scene, draft)


def hear_waiting(scene: Scene, draft: Draft) -> None:
    """A hand-over waits: for whom, and whether its jars stay cold till its hour."""
    hear_offer(scene, draft)
    hear_moving(scene, draft)


def hear_received(scene: Scene, draft: Draft) -> None:
    """Jars changed hands: what waited is over, and a courier's way is held against the cold."""
    hear_moved(scene, draft)
    hear_moving(scene, draft)


# What the watch does when it hears an entry is added here.
FOLLOW: dict[type[Body], Callable[[Scene, Draft], None]] = {
    AlertRaised: hear_alert,
    AlertTaken: hear_alert,
    AlertClosed: hear_alert,
    CustodyOffered: hear_waiting,
    CustodyReceived: hear_received,
    CustodyRefused: hear_moved,
    OfferWithdrawn: hear_moved,
    SampleTold: hear_jar,
    SampleCorrected: hear_holding,
    CoolerCorrected: hear_corrected,
    CoolerRead: hear_reading,
    PersonBack: hear_back,
    PersonOut: hear_out,
    KitInspected: hear_kit,
    KitUsed: hear_kit,
    CaseClosed: hear_closed,
    Resealed: hear_seal,
    DifferenceAnswered: hear_seal,
    AddressesEnrolled: hear_enrolled,
    DoneSaid: hear_done,
}


def concerns(drafts: Iterable[Draft]) -> bool:
    """True where one of these entries is of a kind that the watch hears."""
    return any(type(draft.body) in FOLLOW for draft in drafts)


def follow(
    scene: Scene,
    drafts: Sequence[Draft],
    unit: Unit,
    samples: Mapping[str, Sample],
    cases: Mapping[str, Case],
) -> Watched:
    """Everything that follows from these entries, which left unit, samples and cases so."""
    scene.after(drafts, unit, samples, cases)
    for draft in drafts:
        hear = FOLLOW.get(type(draft.body))
        if hear is not None:
            hear(scene, draft)
    return scene.result
