package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"clipledger/charts"
	"clipledger/monitor"
	"clipledger/monitor/fieldsheet"
	"clipledger/schema"
)

// sheetOptions are the flags of sheet.
type sheetOptions struct {
	query              monitor.SheetQuery
	as, purpose, scale string
	observer           string
	frames             string
	lastYear           bool
	to                 string
	formats            []string
	single             bool // one file for all sites
	unit               fieldsheet.Scale
}

// sheetFormats are the forms of a sheet, by the ending of its file.
var sheetFormats = []string{"html", "csv", "xlsx"}

func newSheet(a *app) *cobra.Command {
	o := &sheetOptions{}
	cmd := &cobra.Command{
		Use:   "sheet DIR|FILE",
		Short: "A field sheet for the next clipping: to print, and to fill in as CSV or workbook",
		Long: `Writes field sheets for a coming growth year: the frames, components and frame
types of a site's last occasions, with room for tare, gross and green weight,
stage, observer and what became of a bag, how it was done last time, and what
to beware of. A DIR gets a page to print (HTML), a CSV and a workbook (XLSX) for
every site and season; --as chooses among them. A FILE that ends in .html, .csv
or .xlsx holds all chosen sites. Nothing that is there is overwritten.

What comes back filled in needs no map: clipledger import clippings FILE. Lines
left blank come in as lost: missing, never zero, and import counts them. Where
they are frames that were not clipped, import with --unfilled left-out.
A workbook keeps labels such as 01 or 3-4, which a spreadsheet program changes
when it opens a CSV.

Frames: where a site's placement is same, those of its last three occasions;
else those of the last one, or --frames N of them, with new labels counted on.
Where species were kept apart last time, each has a line (--one-species: one
line a component).

--for estimates makes sheets for eye estimates, which show no weight at all;
--observer puts the name into every line, and each observer fills a sheet alone.`,
		Example: `  clipledger sheet sheets-2026
  clipledger sheet quill.html --site QUILL --last-year
  clipledger sheet to-fill.xlsx --stratum Foothills --season peak --frames 12
  clipledger sheet estimates.html --for estimates --site THIMBLE --observer Wren`,
		Args: cobra.ExactArgs(1),
		RunE: func(cmd *cobra.Command, args []string) error {
			o.to = args[0]
			if err := o.parse(); err != nil {
				return err
			}
			return runSheet(cmd.Context(), a, o)
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&o.query.Filter.Sites, "site", nil, "only the site `CODE`; repeatable, * and ? stand for any letters and one")
	f.StringArrayVar(&o.query.Filter.Strata, "stratum", nil, "only the `STRATUM`; repeatable, * and ? as above")
	f.StringArrayVar(&o.query.Filter.Seasons, "season", nil, "only the `SEASON`; repeatable (default: every season that a site was clipped in of late)")
	f.IntVar(&o.query.Year, "year", 0, "the coming growth `YEAR` (default: the one after the last that these sites have)")
	f.StringVar(&o.as, "as", "", "`FORMS` with commas between: html, csv, xlsx (default: all in a DIR, the ending of a FILE)")
	f.StringVar(&o.purpose, "for", "clipping", "`WHAT` the sheet is for: clipping, or estimates (by eye: no weights on it)")
	f.BoolVar(&o.lastYear, "last-year", false, "show what each line weighed last time (never on a sheet for estimates)")
	f.StringVar(&o.frames, "frames", "", "`NUMBER` of frames at sites with new spots, or required: as many as adequacy asks for where that is more (default: as many as last time)")
	f.BoolVar(&o.query.OneSpecies, "one-species", false, "one line a component, even where species were kept apart last time")
	f.StringVar(&o.observer, "observer", "", "`NAME` of who will clip or estimate, to stand in every line (default: left blank)")
	f.StringVar(&o.scale, "scale", "g", "`UNIT` in which bags are weighed: g, oz, lb or kg")
	return cmd
}

// parse checks the flags against each other.
func (o *sheetOptions) parse() error {
	if o.purpose != "clipping" && o.purpose != "estimates" {
		return usagef("--for %q: use clipping or estimates", o.purpose)
	}
	if o.purpose == "estimates" && o.lastYear {
		return usagef("a sheet for eye estimates shows no weights: who has seen last year's no longer estimates; leave --last-year away")
	}
	o.query.Estimates = o.purpose == "estimates"
	if err := o.query.Filter.Check(); err != nil {
		return usageError{err}
	}
	if o.query.Year != 0 && (o.query.Year < 1800 || o.query.Year > 2200) {
		return usagef("--year %d: give a growth year, such as 2026", o.query.Year)
	}
	var err error
	if o.unit, err = fieldsheet.ScaleNamed(o.scale); err != nil {
		return usagef("--scale: %v", err)
	}
	switch o.frames {
	case "":
	case "required":
		o.query.Required = true
	default:
		n, err := strconv.Atoi(o.frames)
		if err != nil || n < 1 || n > 1000 {
			return usagef("--frames %q: give a number from 1 to 1000, or required", o.frames)
		}
		o.query.Frames = n
	}
	return o.parseForms()
}

// parseForms finds out whether one file or a folder is wanted, and in which
// forms.
func (o *sheetOptions) parseForms() error {
	ending := strings.ToLower(strings.TrimPrefix(filepath.Ext(o.to), "."))
	o.single = slices.Contains(sheetFormats, ending)
	o.formats = sheetFormats
	if o.single {
		o.formats = []string{ending}
	}
	if o.as == "" {
		return nil
	}
	asked := strings.Split(o.as, ",")
	for _, form := range asked {
		if !slices.Contains(sheetFormats, form) {
			return usagef("--as %q: use html, csv or xlsx, with commas between", form)
		}
	}
	if o.single && !slices.Equal(asked, o.formats) {
		return usagef("%s ends in .%s, and --as says %s: name a folder, or leave --as away", o.to, ending, o.as)
	}
	o.formats = asked
	return nil
}

func runSheet(ctx context.Context, a *app, o *sheetOptions) error {
	book := &fieldsheet.Book{Estimates: o.purpose == "estimates", LastYear: o.lastYear, Observer: o.observer, Scale: o.unit}
	var notices []string
	err := a.read(ctx, func(s *schema.Snapshot) error {
		values, err := s.Settings()
		if err != nil {
			return err
		}
		book.Basis = values["basis"]
		book.LedgerName = cmp.Or(values["name"], strings.TrimSuffix(filepath.Base(a.ledger), filepath.Ext(a.ledger)))
		if book.Stages, err = s.StagesInForce(); err != nil {
			return err
		}
		book.Sheets, notices, err = monitor.FieldSheets(s, o.query)
		return err
	})
	if err != nil {
		return err
	}
	for _, text := range notices {
		a.say("%s", text)
	}
	if len(book.Sheets) == 0 {
		a.fault(errors.New("no field sheet was made: no site that fits has anything to put on one; clipledger means lists what was clipped, and a sites file declares new sites"))
		return errData
	}
	o.beware(a, book)
	files, err := o.render(book)
	if err != nil {
		return err
	}
	if err := writeNew(files); err != nil {
		return err
	}
	return o.told(a, book, files)
}

// beware says what the sheets hold that can go wrong in the field.
func (o *sheetOptions) beware(a *app, book *fieldsheet.Book) {
	apart, elsewhere := 0, 0
	for i := range book.Sheets {
		s := &book.Sheets[i]
		if len(s.Species) > 0 && !book.Estimates {
			apart++
		}
		if p := s.Site.Placement; book.LastYear && p != "same" && p != "shifted" {
			elsewhere++
		}
	}
	if apart > 0 {
		a.say("%s with a line for every species that was kept apart: a species that is not in a frame gets 0, for a blank line makes the frame's component missing", counted(apart, "sheet"))
	}
	if elsewhere > 0 {
		a.say("%s without last year's weights: the spots are new, and the weights are of others", counted(elsewhere, "sheet"))
	}
}

// newFile is a file to be made.
type newFile struct {
	path    string
	content []byte
}

// render makes the files, without writing any.
func (o *sheetOptions) render(book *fieldsheet.Book) ([]newFile, error) {
	var files []newFile
	add := func(b *fieldsheet.Book, stem string) error {
		for _, form := range o.formats {
			content, err := map[string]func() ([]byte, error){"html": b.HTML, "csv": b.CSV, "xlsx": b.XLSX}[form]()
			if err != nil {
				return err
			}
			path := o.to
			if !o.single {
				path = filepath.Join(o.to, stem+"."+form)
			}
			files = append(files, newFile{path, content})
		}
		return nil
	}
	if o.single {
		return files, add(book, "")
	}
	for i := range book.Sheets {
		one := *book
		one.Sheets = book.Sheets[i : i+1]
		s := &one.Sheets[0]
		stem := fmt.Sprintf("%d-%s", s.Year, charts.PageName(s.Site.Site+"\x00"+s.Season))
		if book.Estimates {
			stem += "-estimates"
		}
		if err := add(&one, stem); err != nil {
			return nil, err
		}
	}
	return files, nil
}

// told says what was written and how it comes back.
func (o *sheetOptions) told(a *app, book *fieldsheet.Book, files []newFile) error {
	lines := 0
	for i := range book.Sheets {
		lines += len(book.Sheets[i].Lines)
	}
	for _, f := range files {
		if _, err := fmt.Fprintln(a.Out, plain(f.path)); err != nil {
			return err
		}
	}
	kind := "clippings"
	if book.Estimates {
		kind = "estimates"
	}
	_, err := fmt.Fprintf(a.Out, "%s, %s, for %s; filled in, they come back with: clipledger import %s FILE\n", counted(len(book.Sheets), "sheet"), counted(lines, "line"), o.when(book), kind)
	return err
}

// when names the growth year of the sheets.
func (o *sheetOptions) when(book *fieldsheet.Book) string {
	return fmt.Sprintf("growth year %d", book.Sheets[0].Year)
}
