"""Forecast of usage from an aircraft's own seasons: when a limit in hours or launches will be reached.

A flat yearly rate forecasts too late in spring, the unsafe direction. Calibration is shown by a simulation test.
"""

from fleet.airworthiness.forecast.ahead import expected_on
from fleet.airworthiness.forecast.amount import Amount, usage_ahead
from fleet.airworthiness.forecast.history import MonthlyUsage
from fleet.airworthiness.forecast.reach import Forecast, Outlook, limit_reached

__all__ = ["Amount", "Forecast", "MonthlyUsage", "Outlook", "expected_on", "limit_reached", "usage_ahead"]
