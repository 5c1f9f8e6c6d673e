"""The guide: shipped, so that it is there without internet."""
