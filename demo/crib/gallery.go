package crib

import (
	"context"
	"fmt"
	"os"
	"path/filepath"

	"cribgate/core/tagcode"
	"cribgate/labeler/print"
	"cribgate/printtemplates"
)

// PictureDPI is the resolution of the samples' pictures.
const PictureDPI = 300

// Draw writes a picture of each sample into dir, NAME.png, and gives the files
// in the samples' order. The pictures show what a register has printed or will
// never print; nothing is recorded of them.
func Draw(ctx context.Context, dir string, samples []Sample) ([]string, error) {
	blank, err := printtemplates.Open(stock)
	if err != nil {
		return nil, fmt.Errorf("crib: %w", err)
	}
	if err := os.MkdirAll(dir, 0o700); err != nil {
		return nil, fmt.Errorf("crib: %w", err)
	}
	files := make([]string, len(samples))
	for i, s := range samples {
		tag, err := s.Tag()
		if err != nil {
			return nil, err
		}
		files[i] = filepath.Join(dir, s.Name+".png")
		job := print.Job{Stock: blank, Out: files[i], DPI: PictureDPI}
		if _, err := job.Write(ctx, []print.Tag{tag}, nil); err != nil {
			return nil, fmt.Errorf("crib: draw the sample %s: %w", s.Name, err)
		}
	}
	return files, nil
}

// DrawBadges writes the badges of the people who have one into a PDF, a badge a page.
func DrawBadges(ctx context.Context, file string, people []Person) error {
	blank, err := printtemplates.Open(badgeStock)
	if err != nil {
		return fmt.Errorf("crib: %w", err)
	}
	var badges []print.Badge
	for _, p := range people {
		if p.Badge == "" {
			continue
		}
		sealed, err := tagcode.ParseBadge(p.Badge)
		if err != nil {
			return fmt.Errorf("crib: badge of %s: %w", p.Name, err)
		}
		badges = append(badges, print.Badge{Person: p.ID, Name: p.Name, Crib: Name, Role: p.Roles, Sealed: sealed})
	}
	job := print.Job{Stock: blank, Out: file}
	if _, err := job.WriteBadges(ctx, badges, func() error { return nil }); err != nil {
		return fmt.Errorf("crib: draw the badges: %w", err)
	}
	return nil
}

// Tag is the sample ready to be drawn.
func (s Sample) Tag() (print.Tag, error) {
	sealed, err := tagcode.Parse(s.Text)
	if err != nil {
		return print.Tag{}, fmt.Errorf("crib: sample %s: %w", s.Name, err)
	}
	return print.Tag{Ident: s.Ident, Sealed: sealed}, nil
}
