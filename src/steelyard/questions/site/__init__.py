"""``site``: what the ground does to the loads, in pounds on this rig."""

from steelyard.questions.site.effects import Ground, SiteAnswer, site
from steelyard.questions.site.question import SITE, SiteQuestion

__all__ = ["SITE", "Ground", "SiteAnswer", "SiteQuestion", "site"]
