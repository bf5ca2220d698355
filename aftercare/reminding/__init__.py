"""REMINDING: one due reminder becomes a finished message, gated like every other.

`plain` takes each through every room; `forms` gives the same messages many times as fast.
"""

from aftercare.reminding.forms import Forms
from aftercare.reminding.message import record
from aftercare.reminding.order import Order, Visit
from aftercare.reminding.plain import Reminding

__all__ = ["Forms", "Order", "Reminding", "Visit", "record"]
