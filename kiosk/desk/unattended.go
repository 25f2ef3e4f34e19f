package desk

import "context"

type contextKey int

const (
	unattendedKey contextKey = iota
	foundKey
)

// Unattended marks a request that nobody made: a page that is left open asks by
// itself. It reads the session and stores nothing of it. So it puts off no session's
// end, or somebody who left would stay signed in for as long as anything happens in
// the crib; and it undoes nothing that was done while it was answered.
func Unattended(ctx context.Context) context.Context {
	return context.WithValue(ctx, unattendedKey, true)
}

func isUnattended(ctx context.Context) bool {
	unattended, _ := ctx.Value(unattendedKey).(bool)
	return unattended
}
