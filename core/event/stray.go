package event

import (
	"encoding/hex"

	"cribgate/core/strict"
)

// Photo names a picture by the SHA-256 of its bytes; the picture lies beside the
// register. The zero value is none.
type Photo [32]byte

// ParsePhoto reads 64 lower-case hex digits, and an empty text as none.
func ParsePhoto(text string) (Photo, error) {
	if text == "" {
		return Photo{}, nil
	}
	h, err := ParseHash(text)
	return Photo(h), err
}

// String gives 64 lower-case hex digits, empty for none.
func (p Photo) String() string {
	if p == (Photo{}) {
		return ""
	}
	return hex.EncodeToString(p[:])
}

func readPhoto(o *strict.Object, name string) Photo {
	p, err := ParsePhoto(o.Str(name))
	if err != nil {
		o.Fail(name, "not the SHA-256 of a picture")
	}
	return p
}

// readPhotos reads a list of pictures, none of which is missing.
func readPhotos(o *strict.Object, name string) (list []Photo) {
	for _, text := range o.Strs(name) {
		p, err := ParsePhoto(text)
		if err != nil || p == (Photo{}) {
			o.Fail(name, "not the SHA-256 of pictures")
		}
		list = append(list, p)
	}
	return list
}

func writePhotos(w *strict.Writer, name string, list []Photo) {
	w.List(name)
	for _, p := range list {
		w.ItemStr(p.String())
	}
	w.End()
}

// maxStray is the highest number of a stray.
const maxStray = 1 << 31

// Stray says that a sling came to the crib that the register does not know. It is
// kept apart until somebody finds out whose it is.
type Stray struct {
	No    int // its number on the label that was hung on it, from 1
	Photo Photo
	Lies  string // where it is kept
	Note  string // what can be read on it, who brought it
}

// Kind is KindStray.
func (Stray) Kind() Kind { return KindStray }

// ReadStray reads a Stray body. o may hold other names for its caller, who also
// calls o.Done.
func ReadStray(o *strict.Object) Stray {
	return Stray{No: int(o.Int("no", 1, maxStray)), Photo: readPhoto(o, "photo"), Lies: o.Str("lies"), Note: o.Str("note")}
}

func (s Stray) write(w *strict.Writer) {
	w.Int("no", int64(s.No))
	w.Str("photo", s.Photo.String())
	w.Str("lies", s.Lies)
	w.Str("note", s.Note)
}

// StraySettled says what became of a stray.
type StraySettled struct {
	No  int
	How string // registered, given back, made unusable: in words
}

// Kind is KindStraySettled.
func (StraySettled) Kind() Kind { return KindStraySettled }

func readStraySettled(o *strict.Object) StraySettled {
	return StraySettled{No: int(o.Int("no", 1, maxStray)), How: o.Str("how")}
}

func (s StraySettled) write(w *strict.Writer) {
	w.Int("no", int64(s.No))
	w.Str("how", s.How)
}
