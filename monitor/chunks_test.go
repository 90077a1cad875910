package monitor

import "testing"

func TestChunks(t *testing.T) {
	var c chunks[int]
	for i := range 2*chunkSize + 3 {
		c.add(i * i)
	}
	if c.n != 2*chunkSize+3 || len(c.parts) != 3 {
		t.Fatalf("%d entries in %d chunks", c.n, len(c.parts))
	}
	first := c.at(0)
	for i := range c.n {
		if *c.at(i) != i*i {
			t.Fatalf("entry %d is %d", i, *c.at(i))
		}
	}
	if c.add(7); c.at(0) != first {
		t.Error("growing moved an entry")
	}
}
