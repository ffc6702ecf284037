"""Where the battery modules may go, and what each way of placing them costs."""
