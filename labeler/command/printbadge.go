package command

import (
	"context"
	"io"

	"cribgate/labeler/print"
	"cribgate/store"
	"cribgate/store/keyring"
)

// badges prints badges of a register's people.
func (f printFlags) badges(ctx context.Context, job print.Job, stderr io.Writer) (done printed, err error) {
	err = withRegister(ctx, f.register, stderr, func(s *store.Store, keys keyring.Ring) error {
		today, err := s.Today(ctx)
		if err != nil {
			return err
		}
		badges, err := print.BadgesFromRegister(ctx, s.Reader, keys, today, f.people)
		if err != nil {
			return err
		}
		for _, b := range badges {
			done.names = append(done.names, b.Title())
		}
		done.result, err = job.WriteBadges(ctx, badges, func() error {
			act := store.Act{Station: "labeler", Way: "program"}
			_, err := s.Do(ctx, act, func(ctx context.Context, tx *store.Tx) ([]byte, error) {
				return nil, print.RecordBadges(ctx, tx, badges, job.Stock)
			})
			done.recorded = err == nil
			return err
		})
		return done.failed(err)
	})
	return done, err
}
