// Package photos keeps pictures beside a register: re-encoded, so that nothing that
// a telephone writes into a picture stays in it, and named by the SHA-256 of their
// bytes, which is what the register's events hold.
//
// An [Album] is a directory. A picture in it is never written over; what is read is
// held against its name, so that a damaged or swapped picture is an error and never
// another picture. A picture that was taken out leaves a mark, and a copy of the
// album loses it too when it is next brought up to date.
package photos

import (
	"bytes"
	"crypto/sha256"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io/fs"
	"os"
	"path/filepath"

	"golang.org/x/image/draw"

	"cribgate/core/event"
	"cribgate/store/durable"
)

// ErrGone reports a picture that was taken out of the album.
var ErrGone = errors.New("photos: the picture was taken out")

// ErrDamaged reports a file that is not the picture that its name says.
var ErrDamaged = errors.New("photos: the picture is damaged")

// MaxSide is the most pixels along the longer side of a picture that is kept, and
// quality that of its JPEG (site policy of this program, no source): a link of a
// sling a hand wide is still some forty pixels thick.
const (
	MaxSide = 1600
	quality = 85
)

// An Album keeps pictures in one directory, which is made with the first. The zero
// Album keeps them in the working directory.
type Album struct{ dir string }

// In gives the album in a directory that holds a register, or its copies.
func In(dir string) Album { return Album{filepath.Join(dir, "photos")} }

func (a Album) path(p event.Photo) string { return filepath.Join(a.dir, p.String()+".jpg") }
func (a Album) mark(p event.Photo) string { return filepath.Join(a.dir, p.String()+".gone") }

// Keep encodes a picture anew, smaller where it is large, and keeps it. It is on the
// disk when Keep returns. Keeping the same picture twice is keeping it once; one that
// was taken out stays out, and is [ErrGone].
func (a Album) Keep(picture image.Image) (event.Photo, error) {
	var out bytes.Buffer
	if err := jpeg.Encode(&out, smaller(picture), &jpeg.Options{Quality: quality}); err != nil {
		return event.Photo{}, fmt.Errorf("photos: encode a picture: %w", err)
	}
	p := event.Photo(sha256.Sum256(out.Bytes()))
	if a.gone(p) {
		return event.Photo{}, ErrGone
	}
	if err := a.put(p, out.Bytes()); err != nil {
		return event.Photo{}, fmt.Errorf("photos: keep a picture: %w", err)
	}
	return p, nil
}

// smaller gives the picture without transparency, at most MaxSide pixels long.
func smaller(picture image.Image) image.Image {
	b := picture.Bounds()
	w, h := b.Dx(), b.Dy()
	if side := max(w, h); side > MaxSide {
		w, h = max(1, w*MaxSide/side), max(1, h*MaxSide/side)
	}
	to := image.NewRGBA(image.Rect(0, 0, w, h))
	draw.Draw(to, to.Bounds(), image.White, image.Point{}, draw.Src)
	draw.CatmullRom.Scale(to, to.Bounds(), picture, b, draw.Over, nil)
	return to
}

// put writes a file that gets its name when it is whole and on the disk.
func (a Album) put(p event.Photo, data []byte) (err error) {
	if err := durable.MakeDir(a.dir); err != nil {
		return err
	}
	if _, err := os.Stat(a.path(p)); err == nil {
		return nil
	}
	draft, err := os.CreateTemp(a.dir, "draft-*")
	if err != nil {
		return err
	}
	defer func() {
		if err != nil {
			err = errors.Join(err, draft.Close(), os.Remove(draft.Name()))
		}
	}()
	if _, err := draft.Write(data); err != nil {
		return err
	}
	if err := draft.Sync(); err != nil {
		return err
	}
	if err := os.Rename(draft.Name(), a.path(p)); err != nil {
		return err
	}
	return errors.Join(draft.Close(), durable.SyncDir(a.dir))
}

// Read gives the JPEG of a picture. It is ErrGone for one that was taken out,
// ErrDamaged for one that is not what its name says, and fs.ErrNotExist for one that
// was never here.
func (a Album) Read(p event.Photo) ([]byte, error) {
	if a.gone(p) { // also where the power went before the picture did
		return nil, ErrGone
	}
	data, err := os.ReadFile(a.path(p))
	switch {
	case err != nil:
		return nil, fmt.Errorf("photos: read a picture: %w", err)
	case sha256.Sum256(data) != p:
		return nil, fmt.Errorf("%w: %s", ErrDamaged, p)
	}
	return data, nil
}

func (a Album) gone(p event.Photo) bool {
	_, err := os.Stat(a.mark(p))
	return err == nil
}

// TakeOut removes a picture for good, and leaves a mark that it was here.
func (a Album) TakeOut(p event.Photo) error {
	if err := durable.MakeDir(a.dir); err != nil {
		return fmt.Errorf("photos: take a picture out: %w", err)
	}
	if err := os.WriteFile(a.mark(p), nil, 0o600); err != nil {
		return fmt.Errorf("photos: take a picture out: %w", err)
	}
	if err := os.Remove(a.path(p)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("photos: take a picture out: %w", err)
	}
	if err := durable.SyncDir(a.dir); err != nil {
		return fmt.Errorf("photos: take a picture out: %w", err)
	}
	return nil
}
