package print

import (
	"context"
	"errors"
	"fmt"
	"io"
	"path/filepath"
	"slices"
	"strings"

	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
	"cribgate/printtemplates"
)

// Format is a kind of output file.
type Format string

// The formats, as file names end.
const (
	PDF Format = ".pdf"
	SVG Format = ".svg"
	PNG Format = ".png"
)

// Errors of a job.
var (
	ErrFormat = errors.New("output ends in none of .pdf, .svg, .png")
	ErrNoTags = errors.New("no tag to print")
)

// A Job says how tags are printed.
type Job struct {
	Stock   printtemplates.Stock
	Out     string // file; its ending is the format
	DPI     int    // of a PNG
	Options render.Options
}

// A Result says what a job wrote.
type Result struct {
	Files  []string
	Raster render.Raster // of a PNG; zero for the others
}

// FormatOf returns the format that a file's ending names, in either case.
func FormatOf(file string) (Format, error) {
	f := Format(strings.ToLower(filepath.Ext(file)))
	if !slices.Contains([]Format{PDF, SVG, PNG}, f) {
		return "", fmt.Errorf("print: %s: %w", file, ErrFormat)
	}
	return f, nil
}

// Write prints the tags. A PDF holds them all, a page each. SVG and PNG hold
// one: several tags go to files beside Out, numbered in their order, out-001.png
// for out.png, and Out itself is not written.
//
// Files are drawn beside their names first. Then, where before is not nil, it
// is called: what must be recorded before a tag may exist is recorded there.
// Only then do the files get their names. Where anything fails, or ctx ends, no
// file is left.
func (j Job) Write(ctx context.Context, tags []Tag, before func() error) (Result, error) {
	format, err := FormatOf(j.Out)
	if err != nil {
		return Result{}, err
	}
	if len(tags) == 0 {
		return Result{}, fmt.Errorf("print: %s: %w", j.Out, ErrNoTags)
	}
	var out files
	result, err := j.draw(ctx, format, tags, &out)
	if err == nil && before != nil {
		err = before()
	}
	if err == nil {
		err = out.keep()
	}
	if err != nil {
		return Result{}, errors.Join(err, out.drop())
	}
	return result, nil
}

func (j Job) draw(ctx context.Context, format Format, tags []Tag, out *files) (Result, error) {
	if format == PDF {
		return Result{Files: []string{j.Out}}, out.write(j.Out, func(w io.Writer) error {
			doc := render.NewPDF(w, j.Options)
			if err := j.each(ctx, tags, func(_ int, d sheet.Drawing) error { return doc.Add(d.Page()) }); err != nil {
				return err
			}
			return doc.Close()
		})
	}
	var r Result
	err := j.each(ctx, tags, func(i int, d sheet.Drawing) error {
		name := numbered(j.Out, i, len(tags))
		r.Files = append(r.Files, name)
		return out.write(name, j.single(format, d, &r))
	})
	return r, err
}

// each lays the tags out one after the other.
func (j Job) each(ctx context.Context, tags []Tag, do func(int, sheet.Drawing) error) error {
	for i, tag := range tags {
		if err := ctx.Err(); err != nil {
			return fmt.Errorf("print: %s: %w", j.Out, err)
		}
		d, err := tag.Draw(j.Stock)
		if err != nil {
			return err
		}
		if err := do(i, d); err != nil {
			return err
		}
	}
	return nil
}

// single returns the writer of one drawing.
func (j Job) single(format Format, d sheet.Drawing, r *Result) func(io.Writer) error {
	if format == SVG {
		return func(w io.Writer) error { return render.SVG(w, d.Page(), j.Options) }
	}
	return func(w io.Writer) (err error) {
		r.Raster, err = render.PNG(w, d.Page(), j.DPI, j.Options)
		return err
	}
}

// numbered is the name of file i, from 0, out of n.
func numbered(out string, i, n int) string {
	if n == 1 {
		return out
	}
	ending := filepath.Ext(out)
	digits := max(3, len(fmt.Sprint(n)))
	return fmt.Sprintf("%s-%0*d%s", strings.TrimSuffix(out, ending), digits, i+1, ending)
}
