"""What the ground does to the loads of this rig, what doubt stays, and what would help."""

from steelyard.questions.site.effects import Ground, SiteAnswer, site, site_to_data

__all__ = ["Ground", "SiteAnswer", "site", "site_to_data"]
