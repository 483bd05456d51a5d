"""The cautions that every report carries which somebody may act on. Holds no other wording."""

CAUTIONS = (
    "A management card can switch off the load behind it; so can a setting changed at the wrong moment.",
    "Changes are for qualified people, under the site's change control, with a way back prepared first.",
    "The equipment holds dangerous voltages and stored energy, also when it is disconnected from the supply.",
    "Equipment that feeds life-safety load is not touched without the authority of the site.",
    "Local codes and licensed practice go before anything in this report.",
)
"""Source: common practice, no source."""
