"""The browser's side: pages that read the record of this machine and write nothing."""
