package store

import (
	"cmp"
	"context"
	"fmt"
	"strconv"
	"strings"

	"cribgate/core/quantity"
	"cribgate/core/state"
	"cribgate/core/tagcode"
)

// TagList names a list of tags.
type TagList uint8

// The lists. Tags of slings that are lost or retired are on none but the last.
const (
	TagsWaiting TagList = iota // printed, to be confirmed yet; the one that lapses first comes first
	TagsLapsed                 // never confirmed in time, and none after them; the latest first
	TagsSpoiled                // thrown away from the day Since on, the latest first
)

// TagQuery asks for a list of tags. The zero TagQuery asks for nothing: Today is
// needed.
type TagQuery struct {
	List  TagList
	Today quantity.Date
	Since quantity.Date // of TagsSpoiled
	Stock string        // name of the stock it is on; empty for all
	After string        // what the page before gave as next; empty for the first page
	Limit int           // tags on a page; from 1, at most MaxPage; 0 is 100
}

// SlingTag is a tag and its sling.
type SlingTag struct {
	Sling state.Sling
	Tag   state.Tag
}

// The streams of tags: those that wait from a day on go forward, the others back.
// Each begins at the cursor (?2 day, ?3 identification, ?4 serial) and ends at the
// day ?5.
const (
	listTags      = `SELECT tag.day, tag.ident, tag.serial, tag.digest, sling.state FROM tag`
	listTagsJoin  = ` JOIN sling ON sling.n = tag.sling WHERE tag.stands = ?1 AND tag.stands <> ''`
	listTagsUp    = ` AND (tag.day, tag.ident, tag.serial) > (?2, ?3, ?4) AND tag.day <= ?5 ORDER BY tag.day, tag.ident, tag.serial LIMIT ?6`
	listTagsDown  = ` AND (tag.day, tag.ident, tag.serial) < (?2, ?3, ?4) AND tag.day >= ?5 ORDER BY tag.day DESC, tag.ident DESC, tag.serial DESC LIMIT ?6`
	listTagsStock = ` AND tag.stock = ?7`

	sqlTagsUp        = listTags + ` INDEXED BY tag_stands` + listTagsJoin + listTagsUp
	sqlTagsDown      = listTags + ` INDEXED BY tag_stands` + listTagsJoin + listTagsDown
	sqlTagsUpStock   = listTags + ` INDEXED BY tag_stock` + listTagsJoin + listTagsStock + listTagsUp
	sqlTagsDownStock = listTags + ` INDEXED BY tag_stock` + listTagsJoin + listTagsStock + listTagsDown

	sqlCountTags = `SELECT count(*) FROM (SELECT 1 FROM tag INDEXED BY tag_stands
		WHERE stands = ?1 AND stands <> '' AND day >= ?2 AND day < ?3 LIMIT ?4)`
	sqlCountTagsStock = `SELECT count(*) FROM (SELECT 1 FROM tag INDEXED BY tag_stock
		WHERE stands = ?1 AND stands <> '' AND day >= ?2 AND day < ?3 AND stock = ?5 LIMIT ?4)`
	sqlCountWants      = `SELECT count(*) FROM (SELECT 1 FROM sling INDEXED BY sling_wants WHERE wants = 1 AND ident > '' LIMIT ?1)`
	sqlCountWantsStock = `SELECT count(*) FROM (SELECT 1 FROM sling INDEXED BY sling_wants_stock WHERE wants = 1 AND stock = ?2 LIMIT ?1)`
)

// lastDay is after every day as text.
const lastDay = "A"

// days gives how the list's tags stand, the first of its days and the day after
// its last.
func (q TagQuery) days() (stands, from, before string) {
	lapsed := q.Today.AddDays(-state.LapseDays).String()
	switch q.List {
	case TagsLapsed:
		return tagWaits, "", lapsed
	case TagsSpoiled:
		return tagThrown, q.Since.String(), lastDay
	}
	return tagWaits, lapsed, lastDay
}

// tagHit is where a tag stands in its list.
type tagHit struct {
	day, ident string
	serial     int64
}

func (h tagHit) next() string { return h.day + "\n" + h.ident + "\n" + strconv.FormatInt(h.serial, 10) }

func (q TagQuery) cursor() (tagHit, error) {
	_, from, before := q.days()
	if q.After == "" {
		if q.List == TagsWaiting {
			return tagHit{day: from, serial: -1}, nil
		}
		return tagHit{day: before, serial: -1}, nil
	}
	parts := strings.Split(q.After, "\n")
	if len(parts) != 3 {
		return tagHit{}, fmt.Errorf("%w: %q", ErrCursor, q.After)
	}
	serial, err := strconv.ParseInt(parts[2], 10, 64)
	if err != nil || parts[0] < from || parts[0] >= before {
		return tagHit{}, fmt.Errorf("%w: %q", ErrCursor, q.After)
	}
	return tagHit{parts[0], parts[1], serial}, nil
}

// Tags gives a page of tags, and the cursor of the next page, empty where this is
// the last.
func (r Reader) Tags(ctx context.Context, q TagQuery) (page []SlingTag, next string, err error) {
	limit := cmp.Or(q.Limit, 100)
	if limit < 1 || limit > MaxPage {
		return nil, "", fmt.Errorf("store: list tags: a page of %d is not 1 to %d", limit, MaxPage)
	}
	at, err := q.cursor()
	if err != nil {
		return nil, "", fmt.Errorf("store: list tags: %w", err)
	}
	stands, from, _ := q.days()
	query, until := sqlTagsDown, from
	switch {
	case q.List == TagsWaiting && q.Stock != "":
		query, until = sqlTagsUpStock, lastDay
	case q.List == TagsWaiting:
		query, until = sqlTagsUp, lastDay
	case q.Stock != "":
		query = sqlTagsDownStock
	}
	args := []any{stands, at.day, at.ident, at.serial, until, limit + 1}
	if q.Stock != "" {
		args = append(args, q.Stock)
	}
	var last tagHit
	err = each(ctx, r.q, func(rows cells) error {
		var hit tagHit
		var digest, text []byte
		if err := rows.Scan(&hit.day, &hit.ident, &hit.serial, &digest, &text); err != nil {
			return err
		}
		if len(page) == limit {
			next = last.next()
			return nil
		}
		last = hit
		t, err := slingTag(text, tagcode.Serial(hit.serial), digestOf(digest))
		page = append(page, t)
		return err
	}, query, args...)
	if err != nil {
		return nil, "", fmt.Errorf("store: list tags: %w", err)
	}
	return page, next, nil
}

// slingTag picks a tag out of its sling.
func slingTag(text []byte, serial tagcode.Serial, digest [32]byte) (SlingTag, error) {
	s, err := state.DecodeSling(text)
	if err != nil {
		return SlingTag{}, err
	}
	for _, t := range s.Tags {
		if t.Serial == serial && t.Digest == digest {
			return SlingTag{s, t}, nil
		}
	}
	return SlingTag{}, fmt.Errorf("%w: sling %s does not have the tag it is found by", ErrDamaged, s.ID)
}

// CountTags counts the tags of a list, at most most of them; After and Limit do
// not matter.
func (r Reader) CountTags(ctx context.Context, q TagQuery, most int) (int, error) {
	stands, from, before := q.days()
	query, args := sqlCountTags, []any{stands, from, before, most}
	if q.Stock != "" {
		query, args = sqlCountTagsStock, append(args, q.Stock)
	}
	return r.count(ctx, "tags", query, args...)
}

// CountWants counts the slings that are to get a new tag and whose last tag is on
// that stock, empty for any; at most most of them.
func (r Reader) CountWants(ctx context.Context, stock string, most int) (int, error) {
	if stock != "" {
		return r.count(ctx, "slings that want a tag", sqlCountWantsStock, most, stock)
	}
	return r.count(ctx, "slings that want a tag", sqlCountWants, most)
}

func (r Reader) count(ctx context.Context, what, query string, args ...any) (n int, err error) {
	if err := r.q.QueryRowContext(ctx, query, args...).Scan(&n); err != nil {
		return 0, fmt.Errorf("store: count %s: %w", what, explain(err))
	}
	return n, nil
}
