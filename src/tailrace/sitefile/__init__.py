"""The site file: TOML read, checked and explained, every fault with its line."""
