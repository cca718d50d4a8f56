"""Alike: what about a driver or a transporter counts for a run; two who are alike do the same work at the same cost."""

from planner.model.crews import Driver, Transporter

Kind = tuple[object, ...]


def kind_of_driver(driver: Driver) -> Kind:
    """Return everything about a driver that counts for a run, but for the transporter that is always his."""
    return (
        driver.starts_at, driver.base, driver.role, driver.licences, driver.starts_from_min, driver.home_by_min,
        driver.may_drive_plates, driver.may_stay_out, driver.week,
    )  # fmt: skip


def kind_of_transporter(transporter: Transporter) -> Kind:
    """Return everything about a transporter that counts for a run."""
    return (
        transporter.base, transporter.deck, transporter.gross_kg, transporter.payload_kg, transporter.slots,
        transporter.trailer_kg, transporter.unladen_height_mm, transporter.is_electric, transporter.litres_per_100km,
        transporter.load_min, transporter.unload_min,
    )  # fmt: skip
