"""The page where a rig is learned."""
