package monitor

// chunks is a long list that is never copied while it grows: at no time is
// it in memory twice.
type chunks[T any] struct {
	parts [][]T
	n     int
}

// chunkSize is the number of entries in a chunk.
const chunkSize = 1 << 14

// add appends an entry.
func (c *chunks[T]) add(x T) {
	if c.n%chunkSize == 0 {
		c.parts = append(c.parts, make([]T, 0, chunkSize))
	}
	last := &c.parts[c.n/chunkSize]
	*last = append(*last, x)
	c.n++
}

// at is the entry of a number, from 0.
func (c *chunks[T]) at(i int) *T { return &c.parts[i/chunkSize][i%chunkSize] }
