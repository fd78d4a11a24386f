"""Everything that happens, or should happen, on a farm."""

from browseline.events.bodies import (
    Back, Bitten, Born, Borrowed, Bought, Corrected, Counted, Cut, Died, Earned, Fed, Felled, Forecast,
    Fuelled, Guarded, Issued, Looked, Lost, Merged, Moved, Netted, Noted, Opened, Penned, Photographed, Picked,
    Planted, Pruned, Rained, Returned, Sampled, Shut, Sold, Sown, Spent, Split, Spread, Stormed, Thinned,
    Treated, TreeMeasured, Undone, Walked, Weaned, Weighed, Worked,
)  # fmt: skip
from browseline.events.envelope import (
    KINDS, UPCASTERS, BadEvent, Body, Event, Unknown, When, body_of, from_json, new_id, to_json,
)  # fmt: skip

__all__ = [
    "KINDS", "UPCASTERS", "Back", "BadEvent", "Bitten", "Body", "Born", "Borrowed", "Bought", "Corrected",
    "Counted", "Cut", "Died", "Earned", "Event", "Fed", "Felled", "Forecast", "Fuelled", "Guarded", "Issued",
    "Looked", "Lost", "Merged", "Moved", "Netted", "Noted", "Opened", "Penned", "Photographed", "Picked", "Planted",
    "Pruned", "Rained", "Returned", "Sampled", "Shut", "Sold", "Sown", "Spent", "Split", "Spread", "Stormed",
    "Thinned", "Treated", "TreeMeasured", "Undone", "Unknown", "Walked", "Weaned", "Weighed", "When",
    "Worked", "body_of", "from_json", "new_id", "to_json",
]  # fmt: skip
