// Package tagcode spells and reads what a QR tag says, a rigger's badge, a lift
// slip, and the head of a register on paper.
//
// A tag is forty bytes: a body of twenty-four, most significant bit first, and
// a message authentication code of sixteen. As RFC 4648 Base32 without padding
// that is exactly 64 characters, which fill a version 5 symbol at level H.
//
//	format version      4 bits   1; a higher one is reported as newer, not as broken
//	key fingerprint    32 bits   first 32 bits of SHA-256("cribgate key" ‖ key)
//	sling number       64 bits   first 64 bits of SHA-256(fingerprint ‖ owner's identification)
//	tag serial         10 bits   1 to 1023, never used twice on one sling
//	last thorough inspection
//	                   16 bits   days since 2000-01-01
//	outcome             2 bits   0 none recorded (date and due are then 0), 1 fit, 2 hold, 3 out
//	due                 9 bits   days after that inspection, 0 where none is recorded
//	system              1 bit    0 us (inch sizes), 1 en (millimetre sizes)
//	grade               2 bits   1 grade 80, 2 grade 100, 3 grade 120
//	size                4 bits   place in the system's list of printed sizes, from 0
//	legs                2 bits   legs less one
//	adjustable          1 bit
//	reach              17 bits   millimetres, 0 where it is not known
//	basis               3 bits   of the stamped load: 0 none, 1 vertical, 2 h60, 3 h45, 4 h30, 5 b45, 6 b60
//	unit                1 bit    0 pounds, 1 kilograms
//	load               18 bits   the stamped load in whole units
//	more                1 bit    the record says more than fits here
//	zero                5 bits
//	authentication    128 bits   HMAC-SHA-256 over the 24 bytes and the label "cribgate tag", cut
//
// A badge and a slip are forty bytes too, with the labels "cribgate badge" and
// "cribgate slip". Where a tag has its grade they have zero, so that [KindOf]
// tells the kind without a key and a reader of tags refuses them:
//
//	format version      4 bits   1
//	key fingerprint    32 bits
//	number             64 bits   badge: of the person; slip: of the sling
//	serial             10 bits   badge: 1 to 1023, never used twice for one person; slip: zero
//	day                16 bits   since 2000-01-01; the last that it is good for; badge: 0 for no end
//	zero               12 bits
//	mark                2 bits   zero, the grade of no tag
//	kind                4 bits   1 badge, 2 slip
//	slip number        32 bits   slip: from 1; badge: zero
//	zero               16 bits
//	authentication    128 bits
//
// A head, which a register prints of itself, is forty bytes that name no key. They
// begin with three zero bytes, where the others have their format, and have no
// authentication: a sheet that was filed vouches for the register, not the register
// for the sheet.
//
//	position           64 bits   in the log, 1 to 2^40-1
//	hash              256 bits   SHA-256 of the envelope at that position
//
// HMAC is RFC 2104; cutting it to half its length is what its section 5 allows
// at the least (from memory, not seen). One spelling of a code is valid and every
// other is refused: [Parse], [ParseBadge], [ParseSlip] and [ParseHead] check the
// form, Verify the authentication. Neither says that a sling may go out: a scan proves that
// someone has a picture of the tag, and a tag never stands in for the maker's
// rating tag. A badge names a person and no role; a slip asks and permits nothing.
//
// A prefix in front of a tag's 64 characters (HTTPS://HOST/, at most 23) lets a
// telephone show what the tag says; it carries no fact. Badges, slips and heads
// have none.
//
// The short code under a tag's symbol, for typing by hand, is the serial, thirty
// bits of the sling number and an ISO 7064 MOD 37,36 check character. It finds
// a sling in one register and proves nothing. The others have none: it would
// find a sling that they do not stand for.
package tagcode
