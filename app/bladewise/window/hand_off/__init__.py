"""The hand-off: which file goes to which machine, seen before it is written; and the papers that go with it."""
