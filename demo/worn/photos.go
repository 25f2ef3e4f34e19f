package worn

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"image"
	"image/png"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// also stands in the names of files with the texts of further symbols in view.
const also = ".also"

// Photos has photographs read: DIR/SET/NAME.png, .jpg, .gif or .webp, and beside each
// its text in NAME.txt, an empty one where there is no symbol. Of elsewhere names
// pictures, SET/NAME, whose text file is mistaken, and those that have the right one.
func Photos(ctx context.Context, dir string, elsewhere map[string]string, readers []Reader, progress func(done, of int)) ([]Result, error) {
	var pictures []string
	for _, ending := range []string{"png", "jpg", "jpeg", "gif", "webp"} {
		some, err := filepath.Glob(filepath.Join(dir, "*", "*."+ending))
		if err != nil {
			return nil, fmt.Errorf("worn: look for photographs: %w", err)
		}
		pictures = append(pictures, some...)
	}
	if len(pictures) == 0 {
		return nil, fmt.Errorf("worn: no photographs in %s: they are looked for as SET/NAME.png", dir)
	}
	slices.Sort(pictures)
	var results []Result
	for i, path := range pictures {
		if progress != nil {
			progress(i, len(pictures))
		}
		r := Result{Set: filepath.Base(filepath.Dir(path))}
		r.Name = r.Set + "/" + strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
		truth := r.Name
		if other := elsewhere[r.Name]; other != "" {
			truth = other
		}
		var err error
		if r.Texts, err = textsOf(filepath.Join(dir, filepath.FromSlash(truth))); err != nil {
			return nil, err
		}
		f := Frame{Path: path, Number: i}
		if f.File, err = os.ReadFile(path); err != nil {
			return nil, fmt.Errorf("worn: read a photograph: %w", err)
		}
		if f.Brightness, err = greyOf(f.File); err != nil {
			return nil, fmt.Errorf("worn: read photograph %s: %w", r.Name, err)
		}
		if r.Readings, err = readAll(ctx, readers, f, r.Texts); err != nil {
			return nil, err
		}
		results = append(results, r)
	}
	return results, nil
}

// textsOf reads what stands in a picture from the files beside it.
func textsOf(stem string) (texts []string, err error) {
	for i := 0; ; i++ {
		name := stem + ".txt"
		if i > 0 {
			name = fmt.Sprintf("%s%s%d.txt", stem, also, i)
		}
		text, err := os.ReadFile(name)
		switch {
		case i > 0 && errors.Is(err, fs.ErrNotExist):
			return texts, nil
		case err != nil:
			return nil, fmt.Errorf("worn: read the text of a photograph: %w", err)
		case len(text) > 0:
			texts = append(texts, string(text))
		}
	}
}

func pngOf(m image.Image) ([]byte, error) {
	var b bytes.Buffer
	if err := png.Encode(&b, m); err != nil {
		return nil, fmt.Errorf("worn: write a picture: %w", err)
	}
	return b.Bytes(), nil
}
