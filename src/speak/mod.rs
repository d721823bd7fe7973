//! Speaking: text to speech in a child process, rendered ahead, played through the loudspeaker.
