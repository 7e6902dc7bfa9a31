"""Findings → odds over the pressings, worth, the value of asking, advice.

`dossier` takes what is needed from a label's dossier; `assume` the numbers nobody has counted, with their ranges;
`hear` turns claims into statements (`values` fits words to a dossier's values); `network` enumerates pressing × seller
× places × parts exactly, with `outside` for the price, the adjectives and the dates; `explain` says what moved the
odds; `worth`, `asking`, `value` and `advise` go from odds to money; `judge` runs all of it; `simulate` draws sellers
from the model.
"""

from sayso.judgement.dossier import JudgementError
from sayso.judgement.judge import Judgement, judge, offer_of
from sayso.judgement.worth import Costs, Offer

__all__ = ["Costs", "Judgement", "JudgementError", "Offer", "judge", "offer_of"]
