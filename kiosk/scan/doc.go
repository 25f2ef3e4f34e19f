// Package scan reads the text out of a picture of a QR symbol. It knows nothing of
// tags or slings: what the text means is for others to say, and a text that was
// read is no proof that anything was there.
//
// Entry points: [Image] reads one picture; [Locate] also finds where in it each
// module lies, for whoever judges a print or its wear; a [Reader] does both for many
// at once and bounds how many are decoded together, since a large picture takes up
// to 160 MB.
//
// What comes in is hostile: bytes are capped ([MaxBytes]), dimensions are read and
// capped ([MaxPixels]) before anything is decoded, and a panic of a decoder becomes
// [DamagedImage]; this is one of the two places that recover. Every failure is a
// [Problem], a closed list with one sentence and one next step each, so that
// nobody meets silence.
//
// Where two symbols are in view, the three corners that fit together best are
// taken; which symbol that is cannot be foretold, so a page should ask for a
// picture of one tag.
package scan
