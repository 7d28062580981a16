"""Letting a device in, and the certificate that it installs."""
