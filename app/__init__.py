"""The window: shows a plan and turns gestures into edits. It computes no geometry."""
