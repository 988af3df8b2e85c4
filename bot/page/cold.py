"""What jars carry of the coolers they were in, for sheets and files alike."""

from __future__ import annotations

from storage import register
from storage.lookups import cold_rows

from ..model.cold import life_of
from ..model.sample import Sample
from ..rules.cold import Carried, carried, excursions, water_in
from .base import Reader


async def carried_by(reader: Reader, jars: list[Sample]) -> dict[str, tuple[Carried, ...]]:
    """The excursions of each of these jars of one case that carries any, or may, by its id."""
    by_id = {jar.id: jar for jar in jars}
    found: dict[str, tuple[Carried, ...]] = {}
    for key in await register.coolers_of(reader.tx, jars[0].case) if jars else ():
        life = life_of(key, await cold_rows(reader.tx, key))
        out = excursions(life, reader.trade.limits, water_in(life, by_id))
        for id_ in {id_ for one in out for id_ in one.samples} & set(by_id):
            found[id_] = found.get(id_, ()) + carried(life, out, id_)
    return found
