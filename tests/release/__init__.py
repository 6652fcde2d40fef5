"""The goals of reliability at the size of a release, and the dated report of a run."""
