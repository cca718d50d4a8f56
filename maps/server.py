"""
Asks a routing server for tables, in the HTTP form that the widely used open engines share.

``GET {address}/table/v1/{profile}/{lng},{lat};...?sources=...&destinations=...&annotations=duration,distance`` answers
JSON with ``code``, ``durations`` (seconds) and ``distances`` (metres), null where no way leads.  Large tables are asked
for in blocks; a busy server is asked again; what cannot be had is told plainly, never guessed.

Not known from a server: the tolls and ferries of a way.  Zones count for places that lie in them.
"""

import http.client
import json
import time
import urllib.error
import urllib.request
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from datetime import date
from typing import Any

import numpy as np
import numpy.typing as npt

from maps.crossings import charge_on, crossings
from maps.crossings_met import bits_met, packed, zones_at
from maps.travel import check_on_land, travel_tables
from planner.faults import PlannerError
from planner.model.crews import VehicleClass
from planner.model.places import Place
from planner.model.travel import Charge, TravelTable

Floats = npt.NDArray[np.float64]

#: A goods vehicle above 3.5 t is never faster than its limiter, whatever a car's profile says (56 mph, from memory).
LIMITER_KMH = {VehicleClass.GOODS_7500: 90.0, VehicleClass.GOODS_HEAVY: 90.0}
WORTH_ASKING_AGAIN = (429, 500, 502, 503, 504)
#: No journey takes so many seconds or metres: a hundred days, or once round the Earth.
MOST = 10_000_000


class ServerTrouble(PlannerError):
    """A routing server that does not answer, or not as it should."""

    def __init__(self, address: str, reason: str) -> None:
        self.address, self.reason = address, reason
        super().__init__(f"The routing server at {address} {reason}. Check the address, or plan with the built-in roads.")


@dataclass(frozen=True, kw_only=True, slots=True)
class RoutingServer:
    """
    A server and how it is to be asked.

    ``profiles`` names the server's profile by class, ``driving`` where none is given.  ``block`` is the most places on a
    side of one request.  ``fall_back`` lets the built-in roads answer when the server cannot; it is off unless asked for.
    """

    address: str
    profiles: dict[VehicleClass, str] = field(default_factory=dict)
    block: int = 50
    timeout_s: float = 20.0
    tries: int = 3
    pause_s: float = 0.5
    fall_back: bool = False

    def tables(
        self, places: Sequence[Place], classes: Iterable[VehicleClass], *, day: date
    ) -> tuple[dict[VehicleClass, TravelTable], tuple[Charge, ...]]:
        """
        Return a table for each class, and the zones in which places lie.

        Raises
        ------
        ServerTrouble
            If the server cannot be reached or answers wrongly, and nobody said to fall back.
        UnknownPlace
            If a place lies in the sea, abroad or far from anybody.

        """
        check_on_land(places)
        wanted = tuple(dict.fromkeys(classes))
        try:
            by_profile = {
                profile: self._whole(places, profile) for profile in dict.fromkeys(self._profile(each) for each in wanted)
            }
        except ServerTrouble:
            if self.fall_back:
                return travel_tables(places, wanted, day=day)
            raise
        lng, lat = np.array([place.lng for place in places]), np.array([place.lat for place in places])
        low, high = (zones[:, None] | zones[None, :] for zones in zones_at(lng, lat))
        for half in (low, high):
            np.fill_diagonal(half, 0)
        bits = bits_met([(low, high)])
        mask = packed(low, high, bits)
        tables = {each: self._table(each, *by_profile[self._profile(each)], mask.copy()) for each in wanted}
        return tables, tuple(charge_on(crossings()[bit], day) for bit in bits)

    def _profile(self, vehicle_class: VehicleClass) -> str:
        return self.profiles.get(vehicle_class, "driving")

    @staticmethod
    def _table(vehicle_class: VehicleClass, seconds: Floats, metres: Floats, mask: npt.NDArray[np.int64]) -> TravelTable:
        reached = np.isfinite(seconds) & np.isfinite(metres)
        slowest = np.where(reached, metres, 0) / (LIMITER_KMH.get(vehicle_class, 1e9) / 3.6)
        whole = np.where(reached, np.ceil(np.maximum(np.where(reached, seconds, 0), slowest) - 1e-3), -1).astype(np.int32)
        far = np.where(reached, np.round(np.where(reached, metres, 0)), -1).astype(np.int32)
        np.fill_diagonal(whole, 0)
        np.fill_diagonal(far, 0)
        mask[~reached] = 0
        return TravelTable(
            vehicle_class=vehicle_class, metres=far, seconds=whole, charge_mask=mask, ferry_seconds=np.zeros_like(whole)
        )

    def _whole(self, places: Sequence[Place], profile: str) -> tuple[Floats, Floats]:
        count = len(places)
        seconds, metres = np.full((count, count), np.nan), np.full((count, count), np.nan)
        spans = [range(at, min(at + self.block, count)) for at in range(0, count, self.block)]
        for rows in spans:
            for columns in spans:
                answer = self._ask(places, rows, columns, profile)
                seconds[rows.start : rows.stop, columns.start : columns.stop] = self._block(answer, "durations", rows, columns)
                metres[rows.start : rows.stop, columns.start : columns.stop] = self._block(answer, "distances", rows, columns)
        return seconds, metres

    def _block(self, answer: dict[str, Any], name: str, rows: range, columns: range) -> Floats:
        try:
            block = np.array(
                [[np.nan if cell is None else float(cell) for cell in row] for row in answer[name]], dtype=np.float64
            )
        except (KeyError, TypeError, ValueError) as fault:
            raise ServerTrouble(self.address, f"gives no table of {name}") from fault
        if block.shape != (len(rows), len(columns)):
            raise ServerTrouble(
                self.address, f"gives {name} of shape {block.shape} where {(len(rows), len(columns))} was asked for"
            )
        if (block[~np.isnan(block)] < 0).any() or (block > MOST).any():
            raise ServerTrouble(self.address, f"gives {name} below nothing or without end")
        return block

    def _ask(self, places: Sequence[Place], rows: range, columns: range, profile: str) -> dict[str, Any]:
        """Return the answer for one block, asking again when the server is busy or slow."""
        same = rows == columns
        asked = [places[at] for at in rows] + ([] if same else [places[at] for at in columns])
        points = ";".join(f"{place.lng:.6f},{place.lat:.6f}" for place in asked)
        first = ";".join(str(at) for at in range(len(rows)))
        second = first if same else ";".join(str(len(rows) + at) for at in range(len(columns)))
        table = f"{self.address.rstrip('/')}/table/v1/{profile}/{points}"
        url = f"{table}?sources={first}&destinations={second}&annotations=duration,distance"
        reason = ""
        for attempt in range(self.tries):
            if attempt:
                time.sleep(self.pause_s * 2 ** (attempt - 1))
            try:
                return self._fetch(url)
            except urllib.error.HTTPError as fault:
                reason = f"answers {fault.code} {fault.reason}"
                if fault.code not in WORTH_ASKING_AGAIN:
                    break
            except http.client.InvalidURL as fault:
                raise ServerTrouble(self.address, f"is no web address ({fault})") from fault
            except (urllib.error.URLError, TimeoutError, ConnectionError) as fault:
                told = getattr(fault, "reason", fault)
                late = isinstance(told, TimeoutError)
                reason = f"does not answer within {self.timeout_s:g} s" if late else f"cannot be reached ({told})"
            except http.client.HTTPException as fault:
                reason = f"breaks off or does not answer in HTTP ({type(fault).__name__}: {fault})"
        raise ServerTrouble(self.address, reason)

    def _fetch(self, url: str) -> dict[str, Any]:
        if not url.startswith(("http://", "https://")):
            raise ServerTrouble(self.address, "is no web address")
        with urllib.request.urlopen(url, timeout=self.timeout_s) as reply:  # noqa: S310 - the scheme is checked above
            raw = reply.read()
        try:
            answer = json.loads(raw)
        except (ValueError, RecursionError) as fault:
            raise ServerTrouble(self.address, "does not answer in JSON") from fault
        if not isinstance(answer, dict) or answer.get("code") != "Ok":
            told = answer.get("message") or answer.get("code") if isinstance(answer, dict) else "no object"
            raise ServerTrouble(self.address, f"refuses: {told}")
        return answer
