package export

import (
	"archive/zip"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"

	"github.com/xuri/excelize/v2"
)

// writeInOrder writes a workbook with its parts in one order and without the
// time of day, so that the same values give the same bytes.
func writeInOrder(f *excelize.File, out io.Writer) error {
	temp, err := os.CreateTemp("", "clipledger-*")
	if err != nil {
		return fmt.Errorf("make a temporary file: %w", err)
	}
	defer os.Remove(temp.Name())
	defer temp.Close()
	if err := f.Write(temp); err != nil {
		return fmt.Errorf("write a temporary file: %w", err)
	}
	size, err := temp.Seek(0, io.SeekEnd)
	if err != nil {
		return err
	}
	archive, err := zip.NewReader(temp, size)
	if err != nil {
		return fmt.Errorf("read the workbook again: %w", err)
	}
	const first = "[Content_Types].xml" // which sorts before the letters
	slices.SortFunc(archive.File, func(a, b *zip.File) int {
		if (a.Name == first) != (b.Name == first) {
			return map[bool]int{true: -1, false: 1}[a.Name == first]
		}
		return strings.Compare(a.Name, b.Name)
	})
	w := zip.NewWriter(out)
	for _, part := range archive.File {
		header := zip.FileHeader{Name: part.Name, Method: part.Method, CRC32: part.CRC32, CompressedSize64: part.CompressedSize64, UncompressedSize64: part.UncompressedSize64}
		to, err := w.CreateRaw(&header)
		if err != nil {
			return err
		}
		from, err := part.OpenRaw()
		if err != nil {
			return err
		}
		if _, err := io.Copy(to, from); err != nil {
			return err
		}
	}
	return w.Close()
}
