"""The invented site: what lies where, how warm it is, what is wrong with it."""
