"""Notes on a staff: a piece as MusicXML, engraved, and as plain shapes with the places of its notes. Pure."""
