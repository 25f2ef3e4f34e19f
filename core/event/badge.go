package event

import (
	"encoding/hex"

	"cribgate/core/quantity"
	"cribgate/core/strict"
	"cribgate/core/tagcode"
)

// BadgePrinted records a badge that was printed for a person. Those that were
// printed for the same person before are no longer good.
type BadgePrinted struct {
	Serial tagcode.Serial // of this person's badges
	Key    tagcode.Fingerprint
	Digest [32]byte      // SHA-256 of the badge's text
	Until  quantity.Date // last day that it is good for; zero: without an end
	Stock  string        // name of the stock
}

// Kind is KindBadgePrinted.
func (BadgePrinted) Kind() Kind { return KindBadgePrinted }

// ReadBadgePrinted reads a BadgePrinted body. o may hold other names for its
// caller, who also calls o.Done.
func ReadBadgePrinted(o *strict.Object) BadgePrinted {
	return BadgePrinted{Serial: readSerial(o), Key: readFingerprint(o, "key"), Digest: readDigest(o),
		Until: ReadDate(o, "until"), Stock: o.Str("stock")}
}

func (b BadgePrinted) write(w *strict.Writer) {
	w.Int("serial", int64(b.Serial))
	w.Str("key", b.Key.String())
	w.Str("digest", hex.EncodeToString(b.Digest[:]))
	w.Str("until", b.Until.String())
	w.Str("stock", b.Stock)
}

// readDigest reads SHA-256 of what was printed.
func readDigest(o *strict.Object) [32]byte {
	b, err := hex.DecodeString(o.Str("digest"))
	if err != nil || len(b) != 32 {
		o.Fail("digest", "not SHA-256 in hex")
		return [32]byte{}
	}
	return [32]byte(b)
}
