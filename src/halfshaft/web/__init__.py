"""The app: routes that read, call and render. It holds no rule of its own: what a page says, a study said."""
