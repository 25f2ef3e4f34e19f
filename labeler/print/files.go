package print

import (
	"errors"
	"io"

	"cribgate/labeler/draft"
)

// files are output files under way, which get their names together at the end,
// so that a run that fails leaves none.
type files []*draft.Draft

// begin opens the draft of a file.
func (f *files) begin(name string) (*draft.Draft, error) {
	d, err := draft.Create(name)
	if err == nil {
		*f = append(*f, d)
	}
	return d, err
}

// write draws one file.
func (f *files) write(name string, draw func(io.Writer) error) error {
	d, err := f.begin(name)
	if err != nil {
		return err
	}
	if err := draw(d); err != nil {
		return err
	}
	return d.End()
}

// keep gives the files their names.
func (f files) keep() error {
	for _, d := range f {
		if err := d.Keep(); err != nil {
			return err
		}
	}
	return nil
}

// drop removes what there is of the files.
func (f files) drop() error {
	var errs []error
	for _, d := range f {
		errs = append(errs, d.Drop())
	}
	return errors.Join(errs...)
}
