"""The other side of the trade: what the mast costs in the water."""
