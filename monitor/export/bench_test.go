package export

import (
	"context"
	"os"
	"testing"

	"clipledger/schema"
)

// BenchmarkExport writes the ledger that CLIPLEDGER_BENCH names.
func BenchmarkExport(b *testing.B) {
	path := os.Getenv("CLIPLEDGER_BENCH")
	if path == "" {
		b.Skip("CLIPLEDGER_BENCH names no ledger")
	}
	for _, form := range []string{"csv", "parquet"} {
		b.Run(form, func(b *testing.B) {
			for b.Loop() {
				l, err := schema.OpenRead(context.Background(), path)
				if err != nil {
					b.Fatal(err)
				}
				err = l.Read(context.Background(), func(s *schema.Snapshot) error {
					_, err := Write(context.Background(), b.TempDir()+"/x", s, Options{Form: form})
					return err
				})
				l.Close()
				if err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}
