"""What a camp asks its clients to bring, as items of the packing list."""

from __future__ import annotations

from typing import TYPE_CHECKING

from readiness.packing import plain
from readiness.rules.packs import Item, Pack

if TYPE_CHECKING:
    from collections.abc import Iterable

    from readiness.camp.model import Bring, Camp


def with_camp_items(packs: Iterable[Pack], camp: Camp) -> tuple[Pack, ...]:
    """The packs with what the camp asks for: a known item is then needed at least so often, an unknown one is new.

    Bags, lithium and what may not fly stay as the known item has them. A recommended thing is only known by name,
    so that gear lines that name it are not taken for a slip.
    """
    packs = list(packs)
    known = {plain(name): item.id for p in packs for item in p.items for name in (item.item, *item.aliases)}
    least: dict[str, int] = {}
    own: list[Item] = []
    for one in camp.bring:
        found = known.get(plain(one.item))
        if found is None:
            own.append(_item(one, len(own), camp.name))
            known[plain(one.item)] = own[-1].id
        elif one.required:
            least[found] = max(one.how_many, least.get(found, 0))
    raised = [
        pack._replace(items=tuple(_at_least(item, least.get(item.id, 0)) for item in pack.items)) for pack in packs
    ]
    return (*raised, _pack(camp, tuple(_at_least(item, least.get(item.id, 0)) for item in own)))


def _at_least(item: Item, count: int) -> Item:
    return item._replace(when=None, need={**item.need, "least": count}) if count else item


def _item(one: Bring, position: int, camp: str) -> Item:
    return Item(
        id=f"camp-{position + 1:03}",  # small letters: no pack can have it
        item=one.item,
        aliases=(),
        when=None,
        need={"count": one.how_many if one.required else 0},
        air=(one.bag,),
        road=("body" if one.bag == "body" else "vehicle",),
        never=(),
        apart=False,
        flies=True,
        battery="",
        why=one.why or f"{'required' if one.required else 'recommended'} by the camp",
        basis="common practice",
        source=f"{'required' if one.required else 'recommended'} by {camp}",
        position=position,
    )


def _pack(camp: Camp, items: tuple[Item, ...]) -> Pack:
    return Pack("camp", "1", (), (), camp.document, items)
