"""What bales are worth as eaten: water, loss in the store and loss in feeding, each taken once."""

from __future__ import annotations


def dry_kg(stored_kg: float, dry_frac: float) -> float:
    """Dry matter of hay as it was stored.

    Parameters
    ----------
    stored_kg : float
        [kg]
    dry_frac : float
        Dry matter over weight as stored. [1]

    Returns
    -------
    float
        [kg DM]

    References
    ----------
    ours: shares multiply, each of what the one before it left
    """
    return stored_kg * dry_frac


def eaten_kg(stored_kg: float, dry_frac: float, store_loss_frac: float, feeding_loss_frac: float) -> float:
    """Dry matter that reaches the animals of hay as it was stored.

    Parameters
    ----------
    stored_kg : float
        [kg]
    dry_frac, store_loss_frac, feeding_loss_frac : float
        Dry matter over weight, lost in the store, lost of the rest in feeding. [1]

    Returns
    -------
    float
        As eaten. [kg DM]

    References
    ----------
    ours: shares multiply, each of what the one before it left
    """
    return dry_kg(stored_kg, dry_frac) * (1 - store_loss_frac) * (1 - feeding_loss_frac)


def stored_kg(
    eaten_kg_needed: float, dry_frac: float, store_loss_frac: float, feeding_loss_frac: float
) -> float:
    """Hay as stored that it takes for animals to eat so much: the inverse of ``eaten_kg``.

    Parameters
    ----------
    eaten_kg_needed : float
        As eaten. [kg DM]
    dry_frac, store_loss_frac, feeding_loss_frac : float
        As in ``eaten_kg``. [1]

    Returns
    -------
    float
        As stored. [kg]

    References
    ----------
    ours: the inverse of eaten_kg
    """
    return eaten_kg_needed / eaten_kg(1.0, dry_frac, store_loss_frac, feeding_loss_frac)
