package scenarios

import (
	"embed"
	"fmt"
	"slices"
	"strings"
	"sync"

	"ampwalk/diagnose/base/datafile"
	"ampwalk/diagnose/base/plaintext"
	"ampwalk/diagnose/office/practicelog"
	"ampwalk/diagnose/physics/condition"
)

//go:embed course.toml
var courseFile []byte

//go:embed lessons
var lessonFiles embed.FS

// courseTexts is course.toml, each of its lessons with the file of its explanation.
type courseTexts struct {
	Lesson []Lesson
	Say    struct {
		Lesson, Done, Guided, Own, Quiz, Next, Sheet, Finished, Again, Scores, Class, Trainee, Ended, Wrong, Nobody string

		TheSheet string `toml:"the_sheet"`
		InShort  string `toml:"in_short"`
		Reads    string
		Read     string
		Source   string
		Missed   string

		NoScores  string `toml:"no_scores"`
		FirstLast string `toml:"first_last"`
		ClassMean string `toml:"class_mean"`
		MostWrong string `toml:"most_wrong"`
		NoneWrong string `toml:"none_wrong"`
	}
}

var courseWords = sync.OnceValue(func() courseTexts {
	t := datafile.Read[courseTexts]("scenarios/course.toml", courseFile)
	for i := range t.Lesson {
		l := &t.Lesson[i]
		name := "lessons/" + l.ID + ".toml"
		file, err := lessonFiles.ReadFile(name)
		if err != nil {
			panic(err) // a lesson without its explanation is the programmer's mistake
		}
		l.Part = datafile.Read[struct{ Part []LessonPart }]("scenarios/"+name, file).Part
	}
	return t
})

// A Lesson is a part of the course: an explanation, cases with the visit as a guide, cases
// on one's own, and a sheet for a class.
type Lesson struct {
	ID, Title  string
	Short      []string     // what to keep of it
	Part       []LessonPart `toml:"-"`
	Guided     []string     // ids of scenarios
	Own        []string
	SheetLevel int    `toml:"sheet_level"`
	SheetSeed  uint64 `toml:"sheet_seed"`
}

// A LessonPart is a part of an explanation: paragraphs, and a drawing in lines of its own,
// "" for none.
type LessonPart struct {
	Title   string
	Text    []string
	Drawing string
	Source  string
}

// wordsAMinute is how much is read of an explanation: by those to whom its language is the
// second or third, about half of what others read (common practice).
const wordsAMinute = 130

// lookMinutes is how long a drawing is looked at (judgement).
const lookMinutes = 0.5

// Minutes is how long the explanation takes.
func (l Lesson) Minutes() float64 {
	words, drawings := 0, 0
	for _, p := range l.Part {
		words += len(strings.Fields(strings.Join(append([]string{p.Title}, p.Text...), " ")))
		if p.Drawing != "" {
			drawings++
		}
	}
	return float64(words)/wordsAMinute + lookMinutes*float64(drawings)
}

// lines are the whole explanation.
func (l Lesson) lines() (lines []string) {
	for i, p := range l.Part {
		lines = append(lines, fmt.Sprintf("%d. %s", i+1, p.Title), "")
		for _, text := range p.Text {
			lines = append(lines, text, "")
		}
		if p.Drawing != "" {
			lines = append(lines, strings.Split(strings.Trim(p.Drawing, "\n"), "\n")...)
			lines = append(lines, "")
		}
		lines = append(lines, fmt.Sprintf(courseWords().Say.Source, p.Source), "")
	}
	return lines
}

// Lessons are the course, in its order.
func Lessons() []Lesson { return slices.Clone(courseWords().Lesson) }

// A CourseCase is a case of the course.
type CourseCase struct {
	Lesson   int    // its place in [Lessons]
	Scenario string // of a sheet its name
	Guided   bool
	Sheet    bool // the sheet of the lesson, played as a [Quiz]
}

// CourseSheet is how many cases of a lesson's sheet a trainee plays.
const CourseSheet = 6

// CourseCases are all cases of the course, in their order.
func CourseCases() (list []CourseCase) {
	for i, l := range courseWords().Lesson {
		for _, id := range l.Guided {
			list = append(list, CourseCase{Lesson: i, Scenario: id, Guided: true})
		}
		for _, id := range l.Own {
			list = append(list, CourseCase{Lesson: i, Scenario: id})
		}
		list = append(list, CourseCase{Lesson: i, Scenario: (&Sheet{Level: l.SheetLevel, Seed: l.SheetSeed}).Name(), Sheet: true})
	}
	return list
}

// is reports whether a result is of the case.
func (c CourseCase) is(r practicelog.Result) bool {
	mode := practicelog.OnOnesOwn
	switch {
	case c.Guided:
		mode = practicelog.WithGuide
	case c.Sheet && r.Answers < CourseSheet*len(standingQuestions()): // fewer cases than the lesson wants
		return false
	case c.Sheet:
		mode = practicelog.Quiz
	}
	return r.Scenario == c.Scenario && r.Mode == mode
}

// A Standing is where a trainee stands in the course.
type Standing struct {
	Who    string
	Done   int          // cases that were played to their end
	Again  []CourseCase // guided cases that were played and not passed
	Next   *CourseCase  // nil: all are done, and the guided ones passed
	Points []float64    // of the cases on one's own, in the order played; the same score throughout
}

// StandingOf is where who stands, by the results so far, oldest first. The points of a case
// are those of the first time that it was played to its end. A guided case that was never
// passed comes again after the last.
func StandingOf(list []practicelog.Result, who string) Standing {
	s := Standing{Who: who}
	done, passed := map[CourseCase]bool{}, map[CourseCase]bool{}
	for _, r := range list {
		if r.Who != who {
			continue
		}
		for _, c := range CourseCases() {
			if !c.is(r) {
				continue
			}
			passed[c] = passed[c] || !c.Guided || r.Passed
			if done[c] {
				continue
			}
			if done[c] = true; !c.Guided && !c.Sheet {
				s.Points = append(s.Points, r.Score.Total)
			}
		}
	}
	s.Done = len(done)
	for _, c := range CourseCases() {
		switch {
		case !done[c] && s.Next == nil:
			s.Next = &c
		case done[c] && !passed[c]:
			s.Again = append(s.Again, c)
		}
	}
	if s.Next == nil && len(s.Again) > 0 {
		s.Next = &s.Again[0]
	}
	return s
}

// Lines say where the trainee stands and what to do next.
func (s Standing) Lines() []string {
	t := courseWords()
	total := len(CourseCases())
	lines := []string{fmt.Sprintf(t.Say.Done, s.Done, total)}
	if s.Next == nil {
		lines = append(lines, t.Say.Finished)
	} else {
		lines = append(lines, s.Next.line())
	}
	if len(s.Again) > 0 {
		var list []string
		for _, c := range s.Again {
			list = append(list, c.title())
		}
		lines = append(lines, fmt.Sprintf(t.Say.Again, strings.Join(list, "; ")))
	}
	return append(lines, s.points())
}

// line names the lesson and the case.
func (c CourseCase) line() string {
	t := courseWords()
	how := t.Say.Own
	switch {
	case c.Guided:
		how = t.Say.Guided
	case c.Sheet:
		how = t.Say.Quiz
	}
	l := t.Lesson[c.Lesson]
	return fmt.Sprintf(t.Say.Next, fmt.Sprintf(t.Say.Lesson, c.Lesson+1, len(t.Lesson), l.Title), c.title(), how)
}

func (c CourseCase) title() string {
	if sc, ok := ByID(c.Scenario); ok {
		return sc.Title
	}
	return courseWords().Say.TheSheet
}

// points are the first and the last score, and all between.
func (s Standing) points() string {
	t := courseWords().Say
	if len(s.Points) == 0 {
		return t.NoScores
	}
	var all []string
	for _, x := range s.Points {
		all = append(all, fmt.Sprintf("%.0f", x))
	}
	return fmt.Sprintf(t.Scores, s.Points[0], s.Points[len(s.Points)-1], strings.Join(all, " "))
}

// Explain is what is told before a case: the whole lesson before its first case, in short
// before the others; then the sheet for a class and what is next.
func (c CourseCase) Explain() (title string, lines []string) {
	t := courseWords()
	title, lines = ReadLesson(c.Lesson, c.Guided && c.Scenario == t.Lesson[c.Lesson].Guided[0])
	return title, append(lines, c.line())
}

// ReadLesson is a lesson by its place, the whole of it or in short, with its sheet.
func ReadLesson(i int, whole bool) (title string, lines []string) {
	t := courseWords()
	l := t.Lesson[i]
	if whole {
		lines = append(lines, fmt.Sprintf(t.Say.Reads, l.Minutes()), "")
		lines = append(lines, l.lines()...)
	}
	lines = append(lines, t.Say.InShort, "")
	for _, text := range l.Short {
		lines = append(lines, "- "+text)
	}
	lines = append(lines, "")
	if !whole {
		lines = append(lines, fmt.Sprintf(t.Say.Read, i+1))
	}
	lines = append(lines, fmt.Sprintf(t.Say.Sheet, l.SheetLevel, l.SheetSeed))
	return fmt.Sprintf(t.Say.Lesson, i+1, len(t.Lesson), l.Title), lines
}

// pointsAMark are what one mark of a drawn score stands for.
const pointsAMark = 5

// Drawn draws scores one below the other, the first on top.
func Drawn(points []float64) (lines []string) {
	for i, x := range points {
		lines = append(lines, fmt.Sprintf("%4d %4.0f %s", i+1, x, strings.Repeat("#", int(max(x, 0)/pointsAMark+0.5))))
	}
	return lines
}

// ClassPoints are the mean scores of the first case on one's own of all trainees, of the
// second, and so on; each over those who have played so many.
func ClassPoints(list []practicelog.Result) (means []float64) {
	var counts []float64
	var names []string
	for _, r := range list {
		if slices.Contains(names, r.Who) {
			continue
		}
		names = append(names, r.Who)
		for i, x := range StandingOf(list, r.Who).Points {
			if i == len(means) {
				means, counts = append(means, 0), append(counts, 0)
			}
			means[i], counts[i] = means[i]+x, counts[i]+1
		}
	}
	for i := range means {
		means[i] /= counts[i]
	}
	return means
}

// mostWrongShown are the conditions that the view of a class names.
const mostWrongShown = 3

// ClassLines are the supervisor's view: where each trainee stands, how the first case and
// the last compare, and what was most often wrong.
func ClassLines(list []practicelog.Result) []string {
	t := courseWords().Say
	var names []string
	for _, r := range list {
		if slices.ContainsFunc(CourseCases(), func(c CourseCase) bool { return c.is(r) }) && !slices.Contains(names, r.Who) {
			names = append(names, r.Who)
		}
	}
	if names == nil {
		return []string{t.Nobody}
	}
	lines := []string{t.Class}
	var first, last, n float64
	for _, who := range names {
		s := StandingOf(list, who)
		points := t.NoScores
		if k := len(s.Points); k > 0 {
			points = fmt.Sprintf(t.FirstLast, s.Points[0], s.Points[k-1])
			first, last, n = first+s.Points[0], last+s.Points[k-1], n+1
		}
		who = plaintext.Clean(who)
		if s.Next == nil {
			lines = append(lines, "  "+fmt.Sprintf(t.Ended, who, s.Done, points))
			continue
		}
		lines = append(lines, "  "+fmt.Sprintf(t.Trainee, who, s.Next.Lesson+1, courseWords().Lesson[s.Next.Lesson].Title, s.Done, len(CourseCases()), points))
	}
	if n > 0 {
		lines = append(lines, fmt.Sprintf(t.ClassMean, first/n, last/n))
	}
	return append(append(lines, mostWrong(list)), missedMost(list, t.Missed, t.Wrong)...)
}

// mostWrong are what was named wrongly most often in the cases on one's own.
func mostWrong(list []practicelog.Result) string {
	t := courseWords().Say
	tried, wrong := map[condition.ID]int{}, map[condition.ID]int{}
	for _, r := range list {
		if r.Mode != practicelog.OnOnesOwn {
			continue
		}
		for _, id := range r.Truth {
			if tried[id]++; !r.Right {
				wrong[id]++
			}
		}
	}
	var ids []condition.ID
	for _, c := range condition.All() { // in the catalogue's order where they are alike
		if wrong[c.ID] > 0 {
			ids = append(ids, c.ID)
		}
	}
	slices.SortStableFunc(ids, func(a, b condition.ID) int { return wrong[b] - wrong[a] })
	if len(ids) == 0 {
		return t.NoneWrong
	}
	var texts []string
	for _, id := range ids[:min(len(ids), mostWrongShown)] {
		texts = append(texts, fmt.Sprintf(t.Wrong, condition.Of(id).Title, wrong[id], tried[id]))
	}
	return fmt.Sprintf(t.MostWrong, strings.Join(texts, "; "))
}
