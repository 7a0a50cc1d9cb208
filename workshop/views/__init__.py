"""Pages: each view reads a form, calls one service or selector, and renders."""
