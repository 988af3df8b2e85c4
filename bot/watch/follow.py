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
    ContainerOpened,
    ContainerSealed,
    CoolerCorrected,
    CoolerRead,
    CustodyOffered,
    CustodyReceived,
    CustodyRefused,
    DifferenceAnswered,
    DoneSaid,
    Draft,
    GapExplained,
    JarsMoved,
    KitInspected,
    KitUsed,
    OfferWithdrawn,
    PersonBack,
    PersonOut,
    Resealed,
    SampleCorrected,
    SampleStruck,
    SampleTold,
    SealRead,
)
from ..model.people import Unit
from ..model.sample import Sample
from .custody import hear_moved, hear_offer, hear_taken_out, hear_told
from .ended import await_end, hear_done, hear_enrolled, hear_explained, hear_out_of_danger, hear_struck
from .first_reading import hear_put_in
from .holding import hear_holding
from .kits import hear_closed, hear_kit
from .ladder import hear_alert
from .people import hear_back, hear_out
from .scene import Scene, Watched
from .seals import hear_box, hear_read_again, hear_seal, hear_settled
from .struck import hear_corrected
from .warm import hear_emptied, hear_reading
from .window import hear_moving

# What the watch does when it hears an entry is added here, in the order in which it is done.
FOLLOW: dict[type[Body], tuple[Callable[[Scene, Draft], None], ...]] = {
    AlertRaised: (hear_alert, await_end),
    AlertTaken: (hear_alert,),
    AlertClosed: (hear_alert,),
    CustodyOffered: (hear_offer, hear_moving),
    CustodyReceived: (hear_settled, hear_moved, hear_emptied, hear_moving),
    CustodyRefused: (hear_settled, hear_moved),
    OfferWithdrawn: (hear_settled, hear_moved),
    SampleTold: (hear_told, hear_put_in, hear_holding),
    SampleCorrected: (hear_holding, hear_read_again),
    SampleStruck: (hear_struck,),
    JarsMoved: (hear_emptied, hear_put_in, hear_taken_out),
    CoolerCorrected: (hear_corrected,),
    CoolerRead: (hear_reading,),
    PersonBack: (hear_back, hear_out_of_danger),
    PersonOut: (hear_out,),
    KitInspected: (hear_kit,),
    KitUsed: (hear_kit,),
    CaseClosed: (hear_closed,),
    Resealed: (hear_seal,),
    DifferenceAnswered: (hear_seal,),
    SealRead: (hear_read_again,),
    ContainerSealed: (hear_box,),
    ContainerOpened: (hear_box,),
    GapExplained: (hear_explained,),
    AddressesEnrolled: (hear_enrolled,),
    DoneSaid: (hear_done,),
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
        for hear in FOLLOW.get(type(draft.body), ()):
            hear(scene, draft)
    return scene.result
