package counter

import (
	"context"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"cribgate/core/event"
	"cribgate/core/state"
	"cribgate/store"
)

// ErrNoStray reports the number of a stray that there is not, or not any more.
var ErrNoStray = errors.New("counter: no sling of that number is kept apart")

// KeepApart records a sling that the register does not know, and gives the number
// to be hung on it. It never goes out: what is lent has to be registered first.
func (c *Counter) KeepApart(ctx context.Context, who Who, photo event.Photo, lies, note string) (no int, err error) {
	if lies, err = needed("keep apart", "where it lies", lies); err != nil {
		return 0, err
	}
	note = strings.TrimSpace(note)
	answer, err := c.store.Do(ctx, who.act("keep apart", photo.String(), lies, note), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := mustBe(ctx, tx, who, atCounter); err != nil {
			return nil, err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		b := event.Stray{No: crib.LastNo + 1, Photo: photo, Lies: lies, Note: note}
		if _, err := tx.Append(ctx, event.Crib(), crib.Heads, b); err != nil {
			return nil, err
		}
		return strconv.AppendInt(nil, int64(b.No), 10), nil
	})
	if err != nil {
		return 0, fmt.Errorf("counter: keep apart: %w", err)
	}
	if no, err = strconv.Atoi(string(answer)); err != nil {
		return 0, fmt.Errorf("counter: keep apart: %w", err)
	}
	return no, nil
}

// Settle records what became of a sling that was kept apart. An inspector or a
// keeper says it.
func (c *Counter) Settle(ctx context.Context, who Who, no int, how string) error {
	how, err := needed("settle", "what became of it", how)
	if err != nil {
		return err
	}
	_, err = c.store.Do(ctx, who.act("settle", strconv.Itoa(no), how), func(ctx context.Context, tx *store.Tx) ([]byte, error) {
		if err := mustBe(ctx, tx, who, event.Inspector|event.Keeper); err != nil {
			return nil, err
		}
		crib, err := tx.Crib(ctx)
		if err != nil {
			return nil, err
		}
		if !slices.ContainsFunc(crib.Strays, func(s state.Stray) bool { return s.No == no }) {
			return nil, ErrNoStray
		}
		_, err = tx.Append(ctx, event.Crib(), crib.Heads, event.StraySettled{No: no, How: how})
		return nil, err
	})
	if err != nil {
		return fmt.Errorf("counter: settle: %w", err)
	}
	return nil
}
