"""An invented site flown through the same model that is used backwards: demo, tests, what-if views."""
