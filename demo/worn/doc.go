// Package worn makes pictures of worn tags as a camera at a counter sees them, has
// them read, and counts what was read. It is how this reader is held beside two
// others on frames that nobody has picked.
//
// A [Maker] makes a [Scene]: a tag of an invented sling, printed by the labeler on
// one of its stocks, damaged in one [Kind] of way at a severity from 1 to 5, held
// before a camera with a lens, a shutter and a sensor, 1280 by 720 pixels, written
// as JPEG. A scene follows from seed, kind, severity and number alone: the same four
// give the same bytes on the same kind of machine. What chance decides is drawn from
// one stream for each part of the scene, so that the same tag lies in the same pose
// and gets worse from severity to severity.
//
// [Run] makes scenes, hands each to every [Reader] and gives a [Table]. All readers
// get the very same JPEG; the reader of this program is measured on the decoded
// brightness too, which is what a camera's page on the same machine sends. Programs
// are started anew for each picture, and starting them is part of their time, as it
// is for whoever calls them; [Start] says how much of it that is. Times are what was
// taken of a processor, so that they hold on a machine that does other things too.
//
// Amounts of damage are nobody's measurement of real tags: they are set so that
// general readers read nearly all of severity 1 and little of severity 5 (no
// source). What follows for a real tag is not said here.
package worn
