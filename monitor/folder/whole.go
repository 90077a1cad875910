package folder

import (
	"encoding/json"
	"os"
	"path/filepath"
)

// Whole tells whether dir is a folder of that kind that carries the stamp and
// holds every file as it was put, and lists the files. Each is read and
// compared with its digest, so that one somebody changed or lost is noticed.
func Whole(dir string, k Kind, stamp string) (files []string, ok bool) {
	if stamp == "" {
		return nil, false
	}
	if _, err := os.Stat(filepath.Join(dir, k.Marker)); err != nil {
		return nil, false
	}
	f, err := Open(dir, k)
	if err != nil {
		return nil, false
	}
	defer f.Close()
	raw, err := f.readSmall(k.Marker)
	var m marker
	if err != nil || json.Unmarshal(raw, &m) != nil || !m.Complete || m.Stamp != stamp || len(m.Digests) != len(m.Files) {
		return nil, false
	}
	for i, name := range m.Files {
		content, err := f.root.ReadFile(name)
		if err != nil || digest(content) != m.Digests[i] {
			return nil, false
		}
	}
	return m.Files, true
}
