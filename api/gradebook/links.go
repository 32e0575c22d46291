package gradebook

import (
	"context"
	"crypto/sha256"
	"encoding/base32"
	"errors"
	"net/url"
	"slices"
	"strings"

	"partwright/api/lti"
	"partwright/worker/classroom"
	"partwright/worker/store"
)

// customAssignment is the parameter of a link that names its assignment: deep linking sets
// it, and the learning system sends it back with each launch (Core 5.4.6).
const customAssignment = "assignment"

var referenceText = base32.StdEncoding.WithPadding(base32.NoPadding)

// ReferenceOf is under what reference somebody from a learning system hands in: opaque, the
// same each time, and another for the same subject of another learning system.
func ReferenceOf(registration, subject string) string {
	sum := sha256.Sum256([]byte(registration + "\x00" + subject))
	return "lti-" + strings.ToLower(referenceText.EncodeToString(sum[:16]))
}

// CourseOf is as what a course of a learning system is given assignments: opaque as
// [ReferenceOf]. A launch that names no course stands for its link, or for the deployment.
func CourseOf(m *lti.Message) string {
	in := []string{m.Registration, m.Deployment, "context", m.Context}
	if m.Context == "" {
		in[2], in[3] = "link", m.Link
	}
	sum := sha256.Sum256([]byte(strings.Join(in, "\x00")))
	return "course-" + strings.ToLower(referenceText.EncodeToString(sum[:16]))
}

// TeachesAs lists by what texts assignments are given to a teacher who comes from a learning
// system.
func TeachesAs(m *lti.Message) []string {
	if m.Reference == "" {
		return []string{CourseOf(m)}
	}
	return []string{m.Reference, CourseOf(m)}
}

// opens says which assignment a launch is for, and remembers who came. A pupil is refused
// where nothing is set.
func (b *Book) opens(ctx context.Context, r *lti.Registration, m *lti.Message) error {
	if m.Subject != "" {
		m.Reference = ReferenceOf(r.ID, m.Subject)
	}
	if m.Kind != lti.Launch {
		return nil
	}
	assignment, err := b.Assignment(ctx, r, m)
	switch {
	case err != nil:
		return err
	case assignment == nil && m.Teacher():
		return nil
	case assignment == nil:
		return lti.NothingSet.Because("The link that was followed has no assignment yet.")
	}
	return b.bind(ctx, r, m, assignment)
}

// Assignment finds the assignment that a link is for, nil for none: the one that it names,
// or the one that a teacher has said. For a teacher it is one that is given to them or to
// their course: whoever makes links in a course may name any in them.
func (b *Book) Assignment(ctx context.Context, r *lti.Registration, m *lti.Message) (*classroom.Assignment, error) {
	named := m.Custom[customAssignment]
	if named != "" {
		a, err := b.taught(ctx, r, m, named)
		if err == nil || !errors.Is(err, store.ErrNotFound) {
			return a, err
		}
	}
	var l *store.LTILink
	err := b.Store.Read(ctx, func(tx store.Tx) (err error) {
		l, err = store.LTILinkOf(ctx, tx, r.ID, m.Deployment, m.Link)
		return err
	})
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil
	}
	if err != nil {
		return nil, err
	}
	a, err := b.taught(ctx, r, m, l.Assignment)
	if errors.Is(err, store.ErrNotFound) {
		return nil, nil
	}
	return a, err
}

// taught finds an assignment, for a teacher one that they teach.
func (b *Book) taught(ctx context.Context, r *lti.Registration, m *lti.Message, id string) (*classroom.Assignment, error) {
	if m.Teacher() {
		if err := b.Classes.Teaches(ctx, r.Organization, id, TeachesAs(m)); err != nil {
			return nil, err
		}
	}
	return b.Classes.Get(ctx, r.Organization, id)
}

// Bind says for which assignment the link of a teacher's launch is.
func (b *Book) Bind(ctx context.Context, r *lti.Registration, m *lti.Message, assignment string) error {
	switch {
	case !m.Teacher():
		return lti.TeachersOnly.Because("The roles of the launch are none of a teacher.")
	case m.Kind != lti.Launch:
		return lti.NotGranted.Because("The launch asks for a choice and is for no link.")
	}
	a, err := b.taught(ctx, r, m, assignment)
	if err != nil {
		return err
	}
	if err := b.Classes.Share(ctx, r.Organization, a.ID, CourseOf(m)); err != nil {
		return err
	}
	return b.bind(ctx, r, m, a)
}

// bind keeps what a link is for, with its column, and who came by it.
func (b *Book) bind(ctx context.Context, r *lti.Registration, m *lti.Message, a *classroom.Assignment) error {
	m.Assignment = a.ID
	l := store.LTILink{Registration: r.ID, Deployment: m.Deployment, Link: m.Link, Assignment: a.ID}
	if m.Grades != nil && slices.Contains(m.Grades.Scopes, lti.ScopeScores) {
		l.Readable = slices.Contains(m.Grades.Scopes, lti.ScopeResults)
		l.LineItem = b.column(ctx, r, m, a)
	}
	return b.Store.Write(ctx, func(tx store.Tx) error {
		before, err := store.LTILinkOf(ctx, tx, r.ID, m.Deployment, m.Link)
		switch {
		case errors.Is(err, store.ErrNotFound):
		case err != nil:
			return err
		case l.LineItem == "" && before.Assignment == l.Assignment:
			l.LineItem, l.Readable = before.LineItem, before.Readable
		}
		if err := store.KeepLTILink(ctx, tx, l); err != nil {
			return err
		}
		if !m.Pupil() || m.Teacher() || m.Reference == "" {
			return nil
		}
		return store.KeepLTIPupil(ctx, tx, store.LTIPupil{LTILink: l, Pupil: m.Subject, Reference: m.Reference})
	})
}

// column finds or makes the column of the gradebook. A learning system that does not give
// one now may at the next launch: nobody is kept out of an exercise for that.
func (b *Book) column(ctx context.Context, r *lti.Registration, m *lti.Message, a *classroom.Assignment) string {
	worth := points(a.Worth())
	if worth == 0 {
		worth = 100 // a rubric that counts chords: scores say themselves of how many points they are
	}
	column, err := b.Tool.Column(ctx, r, m, lti.LineItem{Label: a.Title, Maximum: worth, Resource: a.ID})
	if err != nil {
		return ""
	}
	return column
}

// Item is what deep linking sends back for an assignment, which is given to the course that
// it was chosen for.
func (b *Book) Item(ctx context.Context, r *lti.Registration, m *lti.Message, assignment string) (lti.Item, error) {
	if !m.Teacher() {
		return lti.Item{}, lti.TeachersOnly.Because("The roles of the launch are none of a teacher.")
	}
	a, err := b.taught(ctx, r, m, assignment)
	if err != nil {
		return lti.Item{}, err
	}
	if err := b.Classes.Share(ctx, r.Organization, a.ID, CourseOf(m)); err != nil {
		return lti.Item{}, err
	}
	return lti.Item{
		Title: a.Title, Custom: map[string]string{customAssignment: a.ID}, Resource: a.ID, Points: points(a.Worth()), Opens: a.Opens, Closes: a.Closes,
	}, nil
}

// Origins are those of the learning systems that are registered: scheme, host and port.
func (b *Book) Origins(ctx context.Context) ([]string, error) {
	var origins []string
	err := b.Store.Read(ctx, func(tx store.Tx) error {
		addresses, err := store.LTIOrigins(ctx, tx)
		for _, address := range addresses {
			u, bad := url.Parse(address)
			// What could end the list of a policy of content security is no host.
			if bad != nil || u.Host == "" || strings.ContainsAny(u.Host, " ;,'\"") {
				continue
			}
			if origin := u.Scheme + "://" + u.Host; !slices.Contains(origins, origin) {
				origins = append(origins, origin)
			}
		}
		return err
	})
	return origins, err
}

// Member is somebody in a course, for a teacher's eyes. Nothing of it is kept.
type Member struct {
	Reference string `json:"reference"`
	Name      string `json:"name,omitempty"`
	Pupil     bool   `json:"pupil"`
}

// Members lists who is in the course of a teacher's launch.
func (b *Book) Members(ctx context.Context, r *lti.Registration, m *lti.Message) ([]Member, error) {
	all, err := b.Tool.Members(ctx, r, m)
	out := []Member{}
	for i := range all {
		one := &all[i]
		name := one.Name
		if name == "" {
			name = strings.TrimSpace(one.Given + " " + one.Family)
		}
		out = append(out, Member{ReferenceOf(r.ID, one.Subject), name, (&lti.Message{Roles: one.Roles}).Pupil()})
	}
	return out, err
}
