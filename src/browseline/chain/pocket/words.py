"""The sentences of the pocket with their fields open: the phone fills them in, in the language in force."""

from __future__ import annotations

from browseline.words import template

NAMES = (
    "title", "opening", "needs_script", "today", "nothing_carried", "signal", "no_signal", "no_signal_kept",
    "unsent", "all_sent", "refused", "kept", "not_kept", "lost", "away", "other_table", "newer",
    "show_newer", "not_paired", "pair", "nav", "offline_ready", "offline_insecure", "offline_certificate",
    "offline_unable", "offline_waiting", "storage_kept", "storage_may_go", "storage_unknown", "quiet",
    "why", "made", "made_entered", "made_old", "since", "stands", "no_limits", "now", "by", "between",
    "open_question", "next", "next_waits", "next_none", "shut_title", "can_wait", "alarm", "shut_line",
    "moved_act", "count_act", "walk_act", "look_act", "open_act", "shut_act", "keep", "back", "move_which",
    "move_where", "move_shut", "despite", "moved_words", "paddock_height", "mob_at", "way_shut", "way_fit",
    "way_waits", "way_behind", "way_unread", "way_taken", "way_closed", "walk_which", "walk_title",
    "height", "unit", "density", "density.none", "density.fair", "density.good", "density.excellent",
    "height_wrong", "number_wrong", "look_which", "look_at", "look_title", "look_seen", "look_more",
    "look.trees", "look.ground", "look.animals", "look.clear", "look.field.seen", "look.field.bitten",
    "look.field.barked", "look.field.bare", "look.field.planting", "shut_which", "shut_words", "because",
    "until", "open_which", "open_words", "met", "count_which", "count_title", "count_head", "list_title",
    "list_none", "entry", "undo", "undone", "again", "save_file", "state.unsent", "state.kept",
    "state.refused", "state.undone", "kind.moved", "kind.walked", "kind.looked", "kind.shut", "kind.opened",
    "kind.counted", "kind.undone", "mark.M", "mark.B", "mark.G", "nav.today", "nav.move", "nav.walk",
    "nav.look", "nav.shut", "nav.open", "nav.count", "nav.relief", "nav.list", "nav.all", "unit.in",
    "unit.cm", "relief.title", "relief.none", "relief.print", "relief.head", "relief.entered",
    "relief.emergency", "relief.now", "relief.moves", "relief.no_moves", "relief.shut", "relief.hay",
    "relief.water",
)  # fmt: skip
CHANCE = ("when", "today", "day", "gone", "days", "one_day")
DATES = {
    "day": "dates.day", "weekday": "dates.weekday", "time": "dates.time", "list": "dates.list",
    **{f"chance.{name}": f"chain.chance.{name}" for name in CHANCE},
    **{f"month.{n}": f"dates.month.{n}" for n in range(1, 13)},
    **{f"weekday.{n}": f"dates.weekday.{n}" for n in range(1, 8)},
}  # fmt: skip


def words() -> dict[str, str]:
    """Return every sentence of the pocket by its short name, fields as ``{name}``."""
    own = {name: template(f"pocket.words.{name}") for name in NAMES}
    return own | {name: template(key) for name, key in DATES.items()}
