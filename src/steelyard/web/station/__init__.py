"""The station: what can be done with weigh days, live loads and the yard, and the arithmetic worked out aside."""
