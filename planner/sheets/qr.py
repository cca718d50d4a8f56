"""QR codes that open a point in any map application: the ``geo:`` form of RFC 5870."""

from planner.model.places import Place


def geo_uri(place: Place) -> str:
    """
    Return the place as RFC 5870 writes it: latitude first, WGS84 degrees, six decimals (0.1 m).

    >>> from planner.model.places import PlaceId
    >>> geo_uri(Place(place_id=PlaceId("a"), name="A", lng=-1.16, lat=52.26))
    'geo:52.260000,-1.160000'
    """
    return f"geo:{place.lat:.6f},{place.lng:.6f}"


def qr_svg(text: str) -> str:
    """Return ``text`` as a QR code in SVG, black on white, with its quiet zone, scaled by whoever places it."""
    import io

    import segno

    out = io.BytesIO()
    segno.make(text, micro=False, error="m").save(out, kind="svg", border=2, omitsize=True, xmldecl=False, light="#fff")
    return out.getvalue().decode()
