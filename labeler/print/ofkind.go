package print

import (
	"context"
	"fmt"
	"io"

	"cribgate/core/tagcode"
	"cribgate/printtemplates"
)

// WriteLines prints what lines say, and says how many there were. What a line is
// depends on the stock: see [ReadLines], [ReadBadges] and [ReadSlips]. The prefix
// is for tags only.
func (j Job) WriteLines(ctx context.Context, lines io.Reader, key tagcode.Key, prefix string) (int, Result, error) {
	items, err := readFor(j.Stock.Kind, lines, key, prefix)
	if err != nil {
		return 0, Result{}, err
	}
	r, err := write(ctx, j, items, nil)
	return len(items), r, err
}

// StreamLines is WriteLines to a writer, as [Job.Stream] is [Job.Write].
func (j Job) StreamLines(ctx context.Context, w io.Writer, format Format, lines io.Reader, key tagcode.Key, prefix string) (int, error) {
	items, err := readFor(j.Stock.Kind, lines, key, prefix)
	if err != nil {
		return 0, err
	}
	return len(items), stream(ctx, j, w, format, items)
}

// readFor reads lines for a stock of the kind.
func readFor(kind printtemplates.Kind, lines io.Reader, key tagcode.Key, prefix string) ([]item, error) {
	if kind != printtemplates.Tag && prefix != "" {
		return nil, fmt.Errorf("print: a %s has no prefix", kind)
	}
	switch kind {
	case printtemplates.Tag:
		tags, err := ReadLines(lines, key, prefix)
		return items(tags), err
	case printtemplates.Badge:
		badges, err := ReadBadges(lines, key)
		return items(badges), err
	case printtemplates.Slip:
		slips, err := ReadSlips(lines, key)
		return items(slips), err
	}
	return nil, fmt.Errorf("print: %s is nothing that is printed from lines", kind)
}

func items[T item](list []T) []item {
	all := make([]item, len(list))
	for i, it := range list {
		all[i] = it
	}
	return all
}
