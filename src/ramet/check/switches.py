"""What a plan says of itself that rules heed: rules switched off, and cautions that own up to something."""

import re

from ramet.domain.words import PackingRule
from ramet.formats.plan import Plan


def is_off(plan: Plan, rule: PackingRule) -> bool:
    """Tell whether the shipment of a plan switched a rule off."""
    return any(setting.rule == rule and not setting.on for setting in plan.rules)


def owns_up(plan: Plan, code: str, name: str) -> bool:
    """Tell whether a caution of that code names a bag or box, as a word of its own."""
    word = re.compile(rf"(?<!\w){re.escape(name)}(?!\w)")
    return any(caution.code == code and word.search(caution.text) for caution in plan.cautions)
