package print

import (
	"context"
	"errors"
	"fmt"
	"io"

	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/render"
	"cribgate/labeler/sheet"
)

// Stream writes one tag to w; Out is not used. Whoever calls it has recorded the
// tag before, or knows that the register has it.
func (j Job) Stream(ctx context.Context, w io.Writer, format Format, tag Tag) error {
	return j.each(ctx, []Tag{tag}, func(_ int, d sheet.Drawing) error {
		switch format {
		case PDF:
			doc := render.NewPDF(w, j.Options)
			if err := doc.Add(d.Page()); err != nil {
				return err
			}
			return doc.Close()
		case SVG, PNG:
			return j.single(format, d, &Result{})(w)
		}
		return fmt.Errorf("print: tag of %s as %q: %w", tag.Ident, format, ErrFormat)
	})
}

// Again makes a tag that the register printed before, to draw it once more. It
// is ErrChanged where the record says something else by now, since then the tag
// would lie.
func Again(s state.Sling, printed state.Tag, keys Keys, prefix string) (Tag, error) {
	key, err := keys.Current(printed.Key)
	if err != nil {
		return Tag{}, fmt.Errorf("print: find the key of tag %d of %s: %w", printed.Serial, s.Details.Ident, err)
	}
	says, err := s.Tag(printed.Key, printed.Serial)
	if err != nil {
		return Tag{}, errors.Join(fmt.Errorf("print: tag %d of %s: %w", printed.Serial, s.Details.Ident, ErrChanged), err)
	}
	tag, err := Make(s.Details.Ident, says, key, prefix)
	if err != nil {
		return Tag{}, err
	}
	if tagcode.Digest(tag.Sealed.Text()) != printed.Digest {
		return Tag{}, fmt.Errorf("print: tag %d of %s: %w", printed.Serial, s.Details.Ident, ErrChanged)
	}
	tag.Sling = s.ID
	return tag, nil
}
