"""Piece, turn and place on a tile → what it takes to make it, or why it cannot be made."""

from cutopt.fit.carpenter import Carpenter, Learnt
from cutopt.fit.fitting import fit
from cutopt.fit.records import Drive, Fit, Fragment, Refusal, Seat, Stand

__all__ = ["Carpenter", "Drive", "Fit", "Fragment", "Learnt", "Refusal", "Seat", "Stand", "fit"]
