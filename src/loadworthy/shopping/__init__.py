"""The shopping list: an order read, everything that can be bought for it, and the plan with the least total."""

from __future__ import annotations

from loadworthy.shopping.appending import appended, chosen_lines, joined
from loadworthy.shopping.buying import MissingRates
from loadworthy.shopping.order import Order, OrderLine, read_order, read_order_text
from loadworthy.shopping.plan import Plan, plan

__all__ = [
    "MissingRates",
    "Order",
    "OrderLine",
    "Plan",
    "appended",
    "chosen_lines",
    "joined",
    "plan",
    "read_order",
    "read_order_text",
]
