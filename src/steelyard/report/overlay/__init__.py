"""Frames and captions that lie over a video of a weigh day."""
