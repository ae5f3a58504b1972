"""From a photo: the window in which a photo is put to scale and a panel traced on it."""
