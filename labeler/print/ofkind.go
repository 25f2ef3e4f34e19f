package print

import (
	"context"
	"fmt"
	"io"

	"cribgate/core/tagcode"
	"cribgate/printtemplates"
)

// WriteLines prints what lines say, and names it in their order. What a line is
// depends on the stock: see [ReadLines], [ReadBadges] and [ReadSlips]. The prefix
// is for tags only.
func (j Job) WriteLines(ctx context.Context, lines io.Reader, key tagcode.Key, prefix string) (names []string, r Result, err error) {
	items, err := readFor(j.Stock.Kind, lines, key, prefix)
	if err != nil {
		return nil, Result{}, err
	}
	if r, err = write(ctx, j, items, nil); err != nil {
		return nil, Result{}, err
	}
	for _, it := range items {
		names = append(names, it.Title())
	}
	return names, r, nil
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
