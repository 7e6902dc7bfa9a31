"""Findings → odds over the pressings, worth, the value of asking, advice."""

from sayso.judgement.dossier import JudgementError
from sayso.judgement.judge import Judgement, judge, offer_of
from sayso.judgement.worth import Costs, Offer

__all__ = ["Costs", "Judgement", "JudgementError", "Offer", "judge", "offer_of"]
