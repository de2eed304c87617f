"""The site file: TOML read, checked and explained, every fault with its line."""

from tailrace.sitefile.answers import Said
from tailrace.sitefile.read import SiteReading, read_site

__all__ = ["Said", "SiteReading", "read_site"]
