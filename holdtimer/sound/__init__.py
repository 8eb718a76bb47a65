"""What is heard: the cue list, the players, and the synthesis of the sound files."""
