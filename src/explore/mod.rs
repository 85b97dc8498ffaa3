//! Exploring a design space: samplers and search. Plain numbers in and out; nothing of frames.
