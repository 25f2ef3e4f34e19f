package copies

// Room is how much room there is on a disk.
type Room struct {
	Free int64  // bytes for this program
	Disk uint64 // tells one disk from another
}
