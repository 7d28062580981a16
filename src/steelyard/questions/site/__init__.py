"""What the ground does to the loads of this rig, what doubt stays, and what would help."""

from steelyard.questions.site.effects import Ground, SiteAnswer, site
from steelyard.questions.site.question import SITE, SiteQuestion

__all__ = ["SITE", "Ground", "SiteAnswer", "SiteQuestion", "site"]
