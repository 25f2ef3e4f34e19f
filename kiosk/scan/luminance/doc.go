// Package luminance takes the brightness out of a JPEG and leaves the colours where they
// are: a symbol is dark on light, and undoing two planes of colour is much of what
// decoding a camera's picture takes.
//
// Entry point: [Decode]. It reads the one kind that cameras and browsers write:
// baseline, eight bits, grey or YCbCr in one scan. There it gives what image/jpeg
// gives, byte for byte. Whatever is of another kind, or unusual, or damaged, it does
// not judge: it says that it is not for it, and the caller asks image/jpeg. So no
// picture is read otherwise than before, and none is refused that was not.
//
// How: the segments before the scan are read (header.go); the bits of each block are
// looked up ten at a time, those of colour only to be counted off (entropy.go, by
// the tables of table.go); what is left of a block is turned into pixels
// (transform.go), where a block of one shade costs next to nothing.
//
// What comes in is hostile: nothing is set aside before the dimensions were found to
// be within what the caller allows, every read is within the bytes that are there, and the
// work is bounded by them and by the pixels.
package luminance
