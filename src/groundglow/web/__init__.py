"""The page's server: the six questions over REST. It computes nothing; it calls job and steps."""
