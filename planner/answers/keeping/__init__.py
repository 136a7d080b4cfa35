"""What has been begun and stays, by a review or by the frames in a folder."""
