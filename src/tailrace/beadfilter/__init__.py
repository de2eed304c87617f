"""The self-washing floating-bead filter as a machine; start at `tailrace.beadfilter.machine`."""
