"""The rig from above, true to scale, with the load of every wheel, axle, side and coupling."""
