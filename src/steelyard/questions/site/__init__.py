"""``site``: what the ground does to the loads, in pounds on this rig."""

from steelyard.questions.site.effects import Ground, SiteAnswer, site
from steelyard.questions.site.question import SITE, SiteQuestion
from steelyard.questions.site.words import common_words

__all__ = ["SITE", "Ground", "SiteAnswer", "SiteQuestion", "common_words", "site"]
