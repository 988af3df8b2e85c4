"""A kit in service that falls below what its cases' plans still want of it."""

from __future__ import annotations

from ..model.entries import UNIT_CHAIN, AlertClosed
from ..model.people import Kit
from ..rules.kit import kit_short, stock_of
from .plan_text import plan_matrix
from .turn import Turn

KIND = "kit_short"


def watch_kit(turn: Turn, kit: Kit) -> None:
    """The alert of this kit is open while it is good for fewer jars than are wanted of it, else closed.

    Asked whenever something of the kit was told; a training kit raises none.
    """
    if kit.training:
        return
    cases = [case for case in turn.every_case() if kit.name in case.kits and not case.exercise]
    wanted = sum(plan_matrix(turn, case).jars for case in cases)
    stock = stock_of(turn.unit.stock, kit.name)
    crew = turn.unit.with_role("responder")
    short = kit_short(turn.trade.par, kit, stock, crew, wanted, turn.taken_with(kit.name))
    open_ones = [one for one in turn.alerts(("alert_of", KIND, f"kit {kit.name}")) if one.is_open]
    if short is None:
        for alert in open_ones:
            turn.write(UNIT_CHAIN, AlertClosed(alert=alert.id, how="condition", why=turn.word("kit.enough")))
    elif not open_ones:
        names = " ".join(case.name for case in cases)
        values = {"kit": kit.name, "jars": short.good_for, "wanted": wanted, "cases": names}
        text = turn.word("kit.alert", **values, limits=", ".join(short.limits[:4]))
        talked_of, turn.case = turn.case, cases[0]  # the alert is real, whatever drill is talked of
        turn.raise_alert(KIND, f"kit {kit.name}", "digest", (), text)
        turn.case = talked_of
