// Package scan reads the text out of a picture of a QR symbol. It knows nothing of
// tags or slings: what the text means is for others to say, and a text that was
// read is no proof that anything was there.
//
// Entry points: [Image] reads one picture; [Locate] also finds where in it each
// module lies, for whoever judges a print or its wear; a [Reader] does both for many
// at once and bounds how many are decoded together, since a large picture takes up
// to 160 MB.
//
// How a symbol is found, each step in a file of its own: the picture is made level, so
// that shade and glare do not matter (relief.go); lines across it say where finders
// may be (seeds.go, tally.go), and each place is held against a finder, turned and stretched
// until it fits (mark.go, look.go); three that fit together are a symbol (trio.go), those
// first between which something alternates (timing.go), and a third that is scratched away
// is searched where two say it must be (missing.go, twin.go); where lines lead to nothing
// every place is asked (closely.go), and where a single finder is left a lattice grows from
// it (grow.go, nudge.go). A grid is laid through them and through the alignment mark, and
// moved until all that every symbol has agrees (lattice.go). Where that does not read, or no
// flat grid agrees, the plate is taken to be bent: the grid holds to the finders, their
// places and their sides, and is led from there along the places where dark and light
// meet (edges.go, follow.go), as a sheet that resists being bent (sheet.go, tension.go).
// Modules are compared with those around them (sample.go), also after what mixes them was
// undone (equalize.go), and words are mended, the least certain taken as lost (words.go,
// mend.go). What the words say is the library's to decode. All of it is counted and
// ends when its effort is spent (search.go); what hardly agrees like a symbol is put off
// until all was looked at (lay.go). A large picture that shows nothing as a whole is looked
// at in parts (parts.go).
//
// Of a JPEG only the brightness is decoded where it is of the usual kind (package
// luminance), which is most of what reading a camera's file takes.
//
// What comes in is hostile: bytes are capped ([MaxBytes]), dimensions are read and
// capped ([MaxPixels]) before anything is decoded, and a panic of a decoder becomes
// [DamagedImage]; this is one of the two places that recover. Every failure is a
// [Problem], a closed list with one sentence and one next step each, so that
// nobody meets silence.
//
// Where two symbols are in view, the three corners that fit together best are
// taken first; which symbol that is cannot be foretold, so a page should ask for a
// picture of one tag.
package scan
