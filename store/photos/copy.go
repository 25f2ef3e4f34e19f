package photos

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"strings"

	"cribgate/core/event"
)

// CopyTo brings another album up to date: it gets every whole picture that it has
// not got, and loses those that were taken out here. It goes on after a damaged
// picture and says so in the end; n is how many were added.
func (a Album) CopyTo(to Album) (n int, err error) {
	entries, err := os.ReadDir(a.dir)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, nil // none was ever kept
	}
	if err != nil {
		return 0, fmt.Errorf("photos: copy the album: %w", err)
	}
	var failed []error
	for _, e := range entries {
		name, gone := strings.CutSuffix(e.Name(), ".gone")
		name, kept := strings.CutSuffix(name, ".jpg")
		p, err := event.ParsePhoto(name)
		if err != nil || p == (event.Photo{}) || gone == kept {
			continue // a draft that never got its name
		}
		if gone {
			failed = append(failed, to.TakeOut(p))
			continue
		}
		added, err := a.copyOne(p, to)
		if added {
			n++
		}
		failed = append(failed, err)
	}
	if err := errors.Join(failed...); err != nil {
		return n, fmt.Errorf("photos: copy the album: %w", err)
	}
	return n, nil
}

func (a Album) copyOne(p event.Photo, to Album) (added bool, err error) {
	if _, err := os.Stat(to.path(p)); err == nil || a.gone(p) || to.gone(p) {
		return false, nil
	}
	data, err := a.Read(p)
	if err != nil {
		return false, err
	}
	return true, to.put(p, data)
}
