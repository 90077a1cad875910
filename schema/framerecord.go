package schema

import "slices"

// FrameRecord is one frame on one occasion, whole: what its rows said, what
// was looked for in it, and its bags. It and its bags are valid until the next
// one is read.
type FrameRecord struct {
	Occasion   int64
	Transect   string
	Frame      string
	Caged      bool
	CagedSince string
	Date       string
	YearGiven  bool // a row named the growth year, the date did not decide it
	FrameType  string
	AreaM2     Num
	Sampled    uint8 // components_sampled as the rows say it, as a mask of Component.Bit; 0: they do not
	Empty      bool
	LookedFor  uint8 // looked for: not found means zero
	Outside    uint8 // undeclared and outside its recorded years: missing
	Treatment  string
	Block      string
	Observer   int64 // number of the observer; 0 where none is named
	EdgeRule   string
	HeightCM   Num
	Ungrazed   Num
	Note       string
	Import     int64
	Line       int64
	Bags       []FrameBag
}

// FrameBag is one bag with all that holds for its component of the frame.
type FrameBag struct {
	Component   Component
	Species     string
	Bag         string
	GrowthForm  string // as the row says it
	Stage       string
	Date        string
	FrameType   string
	FramesInBag int64 // 0 where not given
	GroundM2    Num   // ground that the weights speak for; 1 where they are per m²
	PerM2       bool
	GreenG      Num
	DryG        Num
	Trace       int
	DMPct       Num
	Basis       string
	Status      string
	Blank       bool // neither weight nor status: a cell that was left blank
	Observer    int64
	EdgeRule    string
	HeightCM    Num
	Ungrazed    Num
	Note        string
	UsedDryG    Num // what the means rest on, on the ledger's basis
	Method      string
	Import      int64
	Line        int64
}

// FrameReader reads frames whole: it turns rows as they are stored into
// records in words.
type FrameReader struct {
	snap    *Snapshot
	queries *preparedQueries
	types   map[int64]string
	areas   map[int64]float64
	species map[int64]string
	methods map[Method]string
	record  FrameRecord
}

// framesAtOnce is how many occasions are read at a time.
const framesAtOnce = 16

// FrameReader makes a reader of frames.
func (s *Snapshot) FrameReader() (*FrameReader, error) {
	r := &FrameReader{snap: s, queries: s.prepared(), types: map[int64]string{}, areas: map[int64]float64{}, species: map[int64]string{}, methods: map[Method]string{}}
	return r, r.names()
}

// Read streams the frames of some occasions, listed in ascending order, in the
// order in which they lie on disk. While fn works on some, the next are read on
// another core; fn may not read through the snapshot itself.
func (r *FrameReader) Read(occasions []int64, fn func(*FrameRecord) error) error {
	batches, stop := make(chan frameBatch, 1), make(chan struct{})
	go func() {
		defer close(batches)
		for some := range slices.Chunk(occasions, framesAtOnce) {
			b := r.read(some)
			select {
			case batches <- b:
			case <-stop:
				return
			}
			if b.err != nil {
				return
			}
		}
	}()
	var err error
	for b := range batches {
		if err == nil {
			if err = r.handOn(b, fn); err != nil {
				close(stop)
			}
		}
	}
	return err
}

// frameBatch is what was read of some occasions.
type frameBatch struct {
	visits []*visitRow
	looked map[[2]int64][2]uint8 // by occasion and frame type
	err    error
}

// handOn turns the frames of a batch into records.
func (r *FrameReader) handOn(b frameBatch, fn func(*FrameRecord) error) error {
	if b.err != nil {
		return b.err
	}
	for _, v := range b.visits {
		r.fill(v, b.looked)
		if err := fn(&r.record); err != nil {
			return err
		}
	}
	return nil
}

// names reads the words behind numbers.
func (r *FrameReader) names() error {
	err := r.snap.each(`SELECT frame_type_id, frame_type, area_m2 FROM frame_type`, nil, func(scan func(...any) error) error {
		var id int64
		var name string
		var area float64
		err := scan(&id, &name, &area)
		r.types[id], r.areas[id] = name, area
		return err
	})
	if err != nil {
		return err
	}
	err = r.snap.each(`SELECT species_id, species FROM species`, nil, func(scan func(...any) error) error {
		var id int64
		var name string
		err := scan(&id, &name)
		r.species[id] = name
		return err
	})
	if err != nil {
		return err
	}
	return r.snap.each(`SELECT method, name FROM dry_method`, nil, func(scan func(...any) error) error {
		var m Method
		var name string
		err := scan(&m, &name)
		r.methods[m] = name
		return err
	})
}

// read reads the frames of a few occasions.
func (r *FrameReader) read(occasions []int64) frameBatch {
	b := frameBatch{looked: map[[2]int64][2]uint8{}}
	wanted := occasionList(occasions)
	b.err = r.queries.each(`SELECT occasion_id, frame_type_id, mask, outside FROM json_each(?) AS wanted CROSS JOIN looked_for ON occasion_id = wanted.value`,
		[]any{wanted}, func(scan func(...any) error) error {
			var k [2]int64
			var v [2]uint8
			err := scan(&k[0], &k[1], &v[0], &v[1])
			b.looked[k] = v
			return err
		})
	if b.err == nil {
		b.visits, b.err = framesOf(r.queries, occasions)
	}
	return b
}

// fill turns one stored frame into the record.
func (r *FrameReader) fill(v *visitRow, looked map[[2]int64][2]uint8) {
	a := &v.attrs
	bags := r.record.Bags[:0]
	r.record = FrameRecord{Occasion: v.id >> 20, Transect: v.key.transect, Frame: v.key.frame, Caged: v.key.caged, CagedSince: v.since, Date: a.date,
		YearGiven: v.yearGiven, FrameType: r.types[a.frameType], AreaM2: r.area(a.frameType), Sampled: v.sampled, Empty: v.empty,
		Treatment: v.treatment, Block: v.block, Observer: a.observer, EdgeRule: a.edgeRule, HeightCM: a.height, Ungrazed: a.ungrazed, Note: v.note,
		Import: v.importID, Line: v.line}
	if v.sampled != 0 {
		r.record.LookedFor = v.sampled
	} else {
		l := looked[[2]int64{v.id >> 20, a.frameType}]
		r.record.LookedFor, r.record.Outside = l[0], l[1]&^l[0]
	}
	for _, b := range v.bags {
		bags = append(bags, r.bag(v, b))
	}
	r.record.Bags = bags
}

func (r *FrameReader) area(frameType int64) Num {
	area, ok := r.areas[frameType]
	return Num{Float64: area, Valid: ok}
}

func (r *FrameReader) bag(v *visitRow, b *bagRow) FrameBag {
	p := v.plotOf(b.component)
	ground := r.area(p.attrs.frameType)
	if ground.Valid {
		ground.Float64 *= float64(max(p.framesInBag, 1))
	}
	if b.perM2 {
		ground = Some(1)
	}
	b.setBlank()
	return FrameBag{Component: b.component, Species: r.species[b.species], Bag: b.bag, GrowthForm: b.form, Stage: b.stage, Date: p.attrs.date,
		FrameType: r.types[p.attrs.frameType], FramesInBag: p.framesInBag, GroundM2: ground, PerM2: b.perM2, GreenG: b.green, DryG: b.dry, Trace: b.trace,
		DMPct: b.dm, Basis: b.basis, Status: b.status, Blank: b.blank, Observer: p.attrs.observer, EdgeRule: p.attrs.edgeRule, HeightCM: p.attrs.height,
		Ungrazed: p.attrs.ungrazed, Note: b.note, UsedDryG: b.used, Method: r.methods[b.method], Import: b.importID, Line: b.line}
}

// Observers lists the people named in the ledger, by number.
func (s *Snapshot) Observers() (map[int64]string, error) {
	return s.names(`SELECT observer_id, observer FROM observer`)
}
