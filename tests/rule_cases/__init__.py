"""What raises each rule: a small change to the demo, and what the finding must then hold."""
