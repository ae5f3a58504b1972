"""The tools of the photo window by their names."""

from app.photo.change_hand import ChangeHand
from app.photo.desk import PhotoDesk
from app.photo.drawing_hands import MarkHand, RingHand, RoundHand
from app.photo.hand import Hand
from app.photo.rough_hands import BoxHand, PlacesHand


def hands_of(desk: PhotoDesk) -> dict[str, Hand]:
    """Return every tool by its name; "" only looks."""
    return {
        "": Hand(desk),
        "places": PlacesHand(desk),
        "find": BoxHand(desk),
        "outline": RingHand(desk, is_opening=False),
        "opening": RingHand(desk, is_opening=True),
        "round": RoundHand(desk),
        "mark": MarkHand(desk),
        "edit": ChangeHand(desk),
    }
