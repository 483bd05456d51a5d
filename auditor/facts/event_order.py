"""How far apart events on two cards must be for their order to be told; holds no facts."""


def apart_to_order_s(uncertainty_s: float | None, other_uncertainty_s: float | None) -> float | None:
    """Return by how many seconds the times of two events on two cards must differ to tell which was first.

    Only more than that tells it: each clock may be off by its own uncertainty, either way. None where
    one of them is unknown: then no distance tells anything.

    Source: interval arithmetic; NIST SP 800-53r5 AU-8, SC-45.
    """
    if uncertainty_s is None or other_uncertainty_s is None:
        return None
    return uncertainty_s + other_uncertainty_s
