"""A routing server in the common HTTP table form: asked in blocks, asked again when busy, told plainly when it fails."""

import json
import threading
from datetime import date
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import numpy as np
import pytest

from maps.server import RoutingServer, ServerTrouble
from maps.travel import travel_tables
from maps.travel_sources import source
from planner.faults import UnknownPlace
from planner.model.crews import VehicleClass
from planner.model.places import Place, PlaceId

CAR, HEAVY = VehicleClass.CAR, VehicleClass.GOODS_HEAVY
DAY = date(2026, 3, 2)


def places(count):
    return [Place(place_id=PlaceId(str(at)), name=str(at), lng=-1.5 + 0.01 * at, lat=52.0 + 0.005 * at) for at in range(count)]


def answer(path):
    """A table of the straight way: 100 km for each degree, at 120 km/h, so that a limiter shows."""
    points_text, query = path.rsplit("/", 1)[1].split("?")
    points = np.array([[float(x) for x in pair.split(",")] for pair in points_text.split(";")])
    asked = dict(pair.split("=") for pair in query.split("&"))
    rows, columns = ([int(at) for at in asked[name].split(";")] for name in ("sources", "destinations"))
    metres = np.abs(points[rows][:, None] - points[columns][None]).sum(axis=2) * 100_000
    return {"code": "Ok", "distances": metres.tolist(), "durations": (metres / (120 / 3.6)).tolist()}


@pytest.fixture
def serve():
    """Start a local server; ``script`` is a list of (status, body) for the first answers, then honest ones."""
    running = []

    def start(script=(), spoil=lambda told: told):
        left, seen = list(script), []

        class Handler(BaseHTTPRequestHandler):
            def do_GET(self):
                seen.append(self.path)
                status, body = left.pop(0) if left else (200, json.dumps(spoil(answer(self.path))).encode())
                self.send_response(status)
                self.end_headers()
                self.wfile.write(body)

            def log_message(self, *_):
                return

        server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
        threading.Thread(target=server.serve_forever, daemon=True).start()
        running.append(server)
        return f"http://127.0.0.1:{server.server_port}", seen

    yield start
    for server in running:
        server.shutdown()
        server.server_close()


def test_blocks_come_together_as_one_table(serve):
    address, seen = serve()
    held, charges = RoutingServer(address=address, block=4).tables(places(10), [CAR], day=DAY)
    assert len(seen) == 9
    apart = np.abs(np.subtract.outer(np.arange(10), np.arange(10)))
    assert (held[CAR].metres == np.round(apart * 1500)).all()
    assert (held[CAR].seconds == np.ceil(np.round(apart * 45.0, 6))).all()
    assert charges == ()
    assert "/table/v1/driving/-1.500000,52.000000;" in seen[0]


def test_a_large_vehicle_is_never_faster_than_its_limiter_and_may_have_its_own_profile(serve):
    address, seen = serve()
    held, _ = RoutingServer(address=address, profiles={HEAVY: "lorry"}).tables(places(3), [CAR, HEAVY], day=DAY)
    assert held[HEAVY].seconds[0, 1] == 60  # 1,500 m at 90 km/h
    assert held[CAR].seconds[0, 1] == 45
    assert any("/lorry/" in path for path in seen)


def test_a_busy_server_is_asked_again(serve):
    address, seen = serve([(503, b"busy"), (429, b"slow down")])
    held, _ = RoutingServer(address=address, pause_s=0.01).tables(places(2), [CAR], day=DAY)
    assert held[CAR].metres[0, 1] == 1500
    assert len(seen) == 3


@pytest.mark.parametrize(("script", "says"), [
    ([(503, b"")] * 3, "answers 503"), ([(404, b"")], "answers 404"), ([(200, b"<html>")], "JSON"),
    ([(200, b'{"code":"InvalidQuery","message":"too many places"}')], "too many places"), ([(200, b'{"code":"Ok"}')], "no table of durations"),
    ([(200, b'{"code":"Ok","durations":[[0]],"distances":[[0]]}')], "shape"),
    ([(200, b'{"code":"Ok","durations":[[0,-5],[1,0]],"distances":[[0,1],[1,0]]}')], "below nothing"),
    ([(200, b'{"code":"Ok","durations":[[0,5],[1,0]],"distances":[[0,1e15],[1,0]]}')], "without end"),
    ([(200, b"[" * 100_000)], "does not answer in JSON"),
])
def test_trouble_is_told_plainly(serve, script, says):
    address, _ = serve(script)
    with pytest.raises(ServerTrouble, match=says) as fault:
        RoutingServer(address=address, pause_s=0.01).tables(places(2), [CAR], day=DAY)
    assert address in str(fault.value)


def test_no_server_and_a_slow_one():
    with pytest.raises(ServerTrouble, match="cannot be reached"):
        RoutingServer(address="http://127.0.0.1:9", tries=1).tables(places(2), [CAR], day=DAY)
    import socket

    with socket.socket() as silent:
        silent.bind(("127.0.0.1", 0))
        silent.listen()
        with pytest.raises(ServerTrouble, match="does not answer within"):
            RoutingServer(address=f"http://127.0.0.1:{silent.getsockname()[1]}", tries=1, timeout_s=0.2).tables(places(2), [CAR], day=DAY)


@pytest.mark.parametrize("raw", [b"no status line\r\n\r\n", b"HTTP/1.1 200 OK\r\nContent-Length: 500\r\n\r\n{", b""])
def test_an_answer_that_breaks_off_is_trouble_not_a_crash(raw):
    import socket

    def answer_once(heard):
        line, _ = heard.accept()
        with line:
            line.recv(65_536)
            line.sendall(raw)

    with socket.socket() as heard:
        heard.bind(("127.0.0.1", 0))
        heard.listen()
        threading.Thread(target=answer_once, args=(heard,), daemon=True).start()
        with pytest.raises(ServerTrouble, match=r"breaks off|cannot be reached"):
            RoutingServer(address=f"http://127.0.0.1:{heard.getsockname()[1]}", tries=1).tables(places(2), [CAR], day=DAY)


@pytest.mark.parametrize("address", ["http://127.0.0.1:port", "http://127.0.0.1/a b"])
def test_an_address_that_is_none_is_told(address):
    with pytest.raises(ServerTrouble, match="is no web address"):
        RoutingServer(address=address).tables(places(2), [CAR], day=DAY)


def test_built_in_roads_step_in_only_when_asked_to():
    held, _ = RoutingServer(address="http://127.0.0.1:9", tries=1, fall_back=True).tables(places(3), [CAR], day=DAY)
    own, _ = travel_tables(places(3), [CAR], day=DAY)
    assert (held[CAR].metres == own[CAR].metres).all()


def test_no_way_is_minus_one(serve):
    def spoil(told):
        told["durations"][0][1] = told["distances"][0][1] = None
        return told

    address, _ = serve(spoil=spoil)
    held, _ = RoutingServer(address=address).tables(places(2), [CAR], day=DAY)
    assert (held[CAR].metres[0, 1], held[CAR].seconds[0, 1], held[CAR].metres[1, 0]) == (-1, -1, 1500)


def test_the_sea_is_refused_before_anybody_is_asked(serve):
    address, seen = serve()
    with pytest.raises(UnknownPlace):
        RoutingServer(address=address).tables([Place(place_id=PlaceId("sea"), name="sea", lng=2.6, lat=54.5)], [CAR], day=DAY)
    assert seen == []


def test_the_environment_may_name_a_server(serve, monkeypatch):
    address, seen = serve()
    monkeypatch.setenv("HOMELEG_ROADS", address)
    held, _ = source()(places(2), [CAR], day=DAY)
    assert held[CAR].metres[0, 1] == 1500
    assert seen
    monkeypatch.delenv("HOMELEG_ROADS")
    assert source() is travel_tables
