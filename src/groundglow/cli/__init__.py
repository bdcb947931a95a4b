"""The command line: shows what job/ and steps/ do; computes nothing."""
