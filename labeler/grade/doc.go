// Package grade judges a fresh print of a QR tag from a picture of it, by those
// parameters of ISO/IEC 15415 that a camera can give without being calibrated, and
// says which it cannot and why.
//
// [Print] takes a [View] (a picture in which somebody found the symbol) and the
// symbol that was meant, and gives a [Report]: a [Line] for each [Parameter] with
// its grade from A to F, what was measured and where the limits come from; what is
// wrong with the picture itself; and what to change. The overall grade is the
// lowest. [Report.Confirms] says whether the print is good enough to be confirmed:
// C or better, with every parameter given. The zero Report does not confirm.
//
// A bad picture is no verdict on the print. Where there are too few pixels, where
// it is blurred, askew, dazzled or cut off, the Report has a [Fault] that says so,
// nothing is graded, and the print is not confirmed: another picture is taken.
//
// # How it is measured
//
// A View gives light, so whoever makes one has taken the curve of the file (sRGB for
// all that a camera or a browser sends) out of it; what a telephone does to its
// pictures besides is not known. Light falling off to one side is evened out by a
// plane through the light modules. A module's reflectance is the mean over a round
// aperture of 0.8 of its width (ISO/IEC 15415, from memory, not seen). All limits
// are relative to the picture's own light and dark.
//
// Errors are found by comparing with the symbol that was meant, so that a damaged
// codeword counts even where a reader mends it.
//
// The standard itself was not seen: limits are quoted through a verifier's manual
// or from memory, as each parameter says, and a figure of ours is marked "common
// practice, no source". A grade given here is advice for the person who prints. It
// is not a verifier's certificate, and no statement about the sling.
package grade
