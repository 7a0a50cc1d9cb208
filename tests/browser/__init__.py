"""Tests that drive a real Chromium through the whole job."""
