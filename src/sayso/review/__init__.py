"""Many listings at once: reading tables and folders, auditing them in batches, ranking, and what comes out."""
