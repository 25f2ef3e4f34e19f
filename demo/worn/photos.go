package worn

import (
	"bytes"
	"cmp"
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

	"cribgate/core/tagcode"
)

// also stands in the names of files with the texts of further symbols in view.
const also = ".also"

// Photos has photographs read: DIR/SET/NAME.png, .jpg, .gif or .webp, and beside each
// its text in NAME.txt, an empty one where there is no symbol. Of elsewhere names
// pictures, SET/NAME, whose text file is mistaken, and those that have the right one.
func Photos(ctx context.Context, dir string, elsewhere map[string]string, readers []Reader, progress func(done, of int)) ([]Result, error) {
	pictures, err := picturesOf(dir)
	if err != nil {
		return nil, err
	}
	var results []Result
	for i, path := range pictures {
		if progress != nil {
			progress(i, len(pictures))
		}
		r := Result{Set: filepath.Base(filepath.Dir(path)), Name: nameOf(path)}
		if r.Texts, err = textsOf(filepath.Join(dir, filepath.FromSlash(cmp.Or(elsewhere[r.Name], r.Name)))); err != nil {
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

// picturesOf lists the pictures of a folder of photographs.
func picturesOf(dir string) (pictures []string, err error) {
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
	return pictures, nil
}

// nameOf is SET/NAME.
func nameOf(path string) string {
	return filepath.Base(filepath.Dir(path)) + "/" + strings.TrimSuffix(filepath.Base(path), filepath.Ext(path))
}

// TagsIn lists the texts beside photographs that are tags of some crib, each once: so a
// register can have them among its live ones.
func TagsIn(dir string) (tags []string, err error) {
	pictures, err := picturesOf(dir)
	if err != nil {
		return nil, err
	}
	for _, path := range pictures {
		texts, err := textsOf(filepath.Join(dir, filepath.FromSlash(nameOf(path))))
		if err != nil {
			return nil, err
		}
		for _, t := range texts {
			if _, err := tagcode.Parse(t); err == nil && !slices.Contains(tags, t) {
				tags = append(tags, t)
			}
		}
	}
	return tags, nil
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
