"""The capacity judge: what can be granted, what is at risk, what would fit instead."""

from crossload.domain.judge.asks import judge
from crossload.domain.judge.fitting import first_fit, largest
from crossload.domain.judge.keeping import keeps
from crossload.domain.judge.standing import at_risk
from crossload.domain.judge.swaps import swap_at

__all__ = ["at_risk", "first_fit", "judge", "keeps", "largest", "swap_at"]
