"""Read clips: true times, upright pictures, and proposals for the moments of a swing."""

from reporter.video.container import VideoRefusedError
from reporter.video.facts import VideoFacts
from reporter.video.pixels import jpeg_of
from reporter.video.reading import Still, Video, open_video, open_video_inside

__all__ = [
    "Still",
    "Video",
    "VideoFacts",
    "VideoRefusedError",
    "jpeg_of",
    "open_video",
    "open_video_inside",
]
