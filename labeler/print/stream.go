package print

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"cribgate/core/state"
	"cribgate/core/tagcode"
	"cribgate/labeler/sheet"
)

// Stream writes tags to w; Out is not used. A PDF takes them all; of the other
// formats, the page that they make must be one. Whoever calls it has recorded
// the tags before, or knows that the register has them.
func (j Job) Stream(ctx context.Context, w io.Writer, format Format, tags ...Tag) error {
	return stream(ctx, j, w, format, tags)
}

// StreamBadges writes badges as Stream does tags.
func (j Job) StreamBadges(ctx context.Context, w io.Writer, format Format, badges ...Badge) error {
	return stream(ctx, j, w, format, badges)
}

func stream[T item](ctx context.Context, j Job, w io.Writer, format Format, items []T) error {
	if !slices.Contains(Formats(), format) {
		return fmt.Errorf("print: tags as %q: %w", format, ErrFormat)
	}
	if len(items) == 0 {
		return fmt.Errorf("print: tags as %q: %w", format, ErrNoTags)
	}
	var drawings []sheet.Drawing
	if err := drawAll(ctx, j, items, func(_ Drawn, d sheet.Drawing) error {
		drawings = append(drawings, d)
		return nil
	}); err != nil {
		return err
	}
	return j.stream(w, format, drawings)
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
	tag.Sling, tag.doubt = s.ID, s.Details.Sling.TagDoubt()
	return tag, nil
}
