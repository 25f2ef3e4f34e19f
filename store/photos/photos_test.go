package photos_test

import (
	"bytes"
	"errors"
	"image"
	"image/color"
	"image/jpeg"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"cribgate/core/event"
	"cribgate/store/photos"
)

func picture(w, h int, shade byte) image.Image {
	p := image.NewRGBA(image.Rect(0, 0, w, h))
	for i := range p.Pix {
		p.Pix[i] = shade
	}
	p.Set(w/2, h/2, color.White)
	return p
}

func album(t *testing.T) (photos.Album, string) {
	t.Helper()
	dir := t.TempDir()
	return photos.In(dir), filepath.Join(dir, "photos")
}

// A picture comes back as a JPEG that is at most so large, under the hash of its
// bytes, and once however often it is kept.
func TestKeep(t *testing.T) {
	a, dir := album(t)
	for _, c := range []struct{ w, h, wantW, wantH int }{
		{40, 30, 40, 30}, {photos.MaxSide, 10, photos.MaxSide, 10}, {photos.MaxSide + 1, 10, photos.MaxSide, 9}, {1, 2 * photos.MaxSide, 1, photos.MaxSide},
	} {
		p, err := a.Keep(picture(c.w, c.h, 90))
		if err != nil {
			t.Fatal(err)
		}
		again, err := a.Keep(picture(c.w, c.h, 90))
		if err != nil || again != p {
			t.Errorf("%d×%d kept twice: %s and %s, %v", c.w, c.h, p, again, err)
		}
		data, err := a.Read(p)
		if err != nil {
			t.Fatal(err)
		}
		got, err := jpeg.DecodeConfig(bytes.NewReader(data))
		if err != nil || got.Width != c.wantW || got.Height != c.wantH {
			t.Errorf("%d×%d is kept as %d×%d, want %d×%d, %v", c.w, c.h, got.Width, got.Height, c.wantW, c.wantH, err)
		}
	}
	entries, err := os.ReadDir(dir)
	if err != nil || len(entries) != 4 {
		t.Errorf("%d files, want 4, %v", len(entries), err)
	}
}

// What is read is what its name says, or an error that tells which it is.
func TestRead(t *testing.T) {
	a, dir := album(t)
	if _, err := a.Read(event.Photo{1}); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("never kept: %v", err)
	}
	p, err := a.Keep(picture(40, 30, 90))
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(dir, p.String()+".jpg")
	data, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	data[len(data)/2] ^= 1
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Read(p); !errors.Is(err, photos.ErrDamaged) {
		t.Errorf("one bit turned: %v", err)
	}
	if err := a.TakeOut(p); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Read(p); !errors.Is(err, photos.ErrGone) {
		t.Errorf("taken out: %v", err)
	}
	if err := a.TakeOut(p); err != nil {
		t.Errorf("taken out twice: %v", err)
	}
	if _, err := a.Keep(picture(40, 30, 90)); !errors.Is(err, photos.ErrGone) {
		t.Errorf("kept again: %v", err)
	}
	if err := os.WriteFile(filepath.Join(dir, p.String()+".jpg"), data, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := a.Read(p); !errors.Is(err, photos.ErrGone) {
		t.Errorf("marked, and not removed yet: %v", err)
	}
}

// A copy gets what it has not got, loses what was taken out, takes nothing that is
// damaged, and goes on after that.
func TestCopyTo(t *testing.T) {
	a, dir := album(t)
	b, _ := album(t)
	if n, err := a.CopyTo(b); n != 0 || err != nil {
		t.Fatalf("an album that was never begun: %d, %v", n, err)
	}
	var kept []event.Photo
	for i := range 4 {
		p, err := a.Keep(picture(40, 30+i, 90))
		if err != nil {
			t.Fatal(err)
		}
		kept = append(kept, p)
	}
	if n, err := a.CopyTo(b); n != 4 || err != nil {
		t.Fatalf("copied %d, %v", n, err)
	}
	if err := a.TakeOut(kept[0]); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, kept[1].String()+".jpg"), []byte("no picture"), 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(filepath.Join(dir, "draft-1"), []byte("half"), 0o600); err != nil {
		t.Fatal(err)
	}
	if n, err := a.CopyTo(b); n != 0 || err != nil {
		t.Errorf("brought up to date: %d, %v", n, err)
	}
	if _, err := b.Read(kept[0]); !errors.Is(err, photos.ErrGone) {
		t.Errorf("taken out of the copy: %v", err)
	}
	if _, err := b.Read(kept[1]); err != nil {
		t.Errorf("the whole one in the copy: %v", err)
	}
	c, _ := album(t)
	if n, err := a.CopyTo(c); n != 2 || !errors.Is(err, photos.ErrDamaged) {
		t.Errorf("a new copy: %d, %v", n, err)
	}
	if n, err := b.CopyTo(a); n != 0 || err != nil {
		t.Errorf("back: %d, %v", n, err)
	}
}
