"""A job: the folder on disk, the ledger of what made what, and the runner that keeps it up to date."""
