// Package camera reads tags before the cameras of browsers: frames come in over
// WebSockets, and what was read goes out, with an outline and advice drawn from
// what was measured. It knows texts and nothing of tags, people or slings.
//
// Entry points: [Open] starts the workers; [Cameras.Serve] takes a camera's
// connection over and says what it shows; [Cameras.Close] ends everything.
//
// # Frames
//
// A page sends a frame (see [ReadFrame]), and the next one when it was told that
// the last was taken. All cameras share a fixed number of workers. Each has one
// slot: a newer frame takes the place of one that nobody has looked at yet, so
// that nothing ever queues and a slow machine reads fewer frames, never old ones.
// Bytes are bounded, and dimensions are known, before anything is decoded. The
// same text is told once for as long as it stays in view.
//
// What cannot be read is held against the tags that somebody knows ([Known]), frame by
// frame and added up with the frames of the last second; a likeness is told when it has
// lasted for some frames, and as what it is.
//
// # Phones
//
// A telephone becomes the camera of a station by a code: [Cameras.Offer] gives one
// that is good for [OfferFor] and once, [Cameras.Pair] takes it and gives a token.
// What the telephone reads ([Cameras.ServePhone]) goes to a page of that station
// ([Cameras.ServeStation]), one of them, which says that it has it; where none does,
// the telephone says so, and shows the same tag again as new. A telephone can
// deliver texts, and nothing else: it never learns what they led to. Codes and
// tokens are kept in memory only, as digests; they end with the program, with the
// session of the station, after [PairedFor], or when either side lets go.
package camera
