package lti

import (
	"encoding/json"
	"slices"
	"strings"
)

// Names of claims (Core 5.3 and 5.4; DL 4.4; NRPS 3.6.1; AGS 3.1).
const (
	claimPrefix     = "https://purl.imsglobal.org/spec/lti/claim/"
	claimSettings   = "https://purl.imsglobal.org/spec/lti-dl/claim/deep_linking_settings"
	claimItems      = "https://purl.imsglobal.org/spec/lti-dl/claim/content_items"
	claimData       = "https://purl.imsglobal.org/spec/lti-dl/claim/data"
	claimDLMessage  = "https://purl.imsglobal.org/spec/lti-dl/claim/msg"
	claimNames      = "https://purl.imsglobal.org/spec/lti-nrps/claim/namesroleservice"
	claimEndpoint   = "https://purl.imsglobal.org/spec/lti-ags/claim/endpoint"
	version         = "1.3.0"
	maxIdentifier   = 255     // Core 5.3: identifiers are bounded so
	maxAddress      = 4 << 10 // ours
	maxTitle        = 1 << 10
	maxCustom       = 50
	maxData         = 16 << 10
	maxRoles        = 100
	maxScopes       = 50
	claimTooLong    = " is too long."
	typeLaunch      = "LtiResourceLinkRequest"
	typeDeepLinking = "LtiDeepLinkingRequest"
)

// Kind is what a message asks for.
type Kind string

// Kinds of messages.
const (
	// Launch opens what one of the learning system's links is for (Core 5.2).
	Launch Kind = "launch"
	// DeepLinking asks to choose something that a link can be made for (DL 2.0).
	DeepLinking Kind = "deep-linking"
)

// Message is what a learning system launched. Nothing of it is personal but Subject,
// an opaque reference.
type Message struct {
	Kind         Kind   `json:"kind"`
	Registration string `json:"registration"`
	Deployment   string `json:"deployment"`
	// Subject is who comes, "" for an anonymous launch.
	Subject string   `json:"subject,omitempty"`
	Roles   []string `json:"roles"`
	// Target is what is to be opened; "" in deep linking where it may be left out.
	Target string `json:"target,omitempty"`
	// Link names the learning system's link, Context its course; both may be "".
	Link    string `json:"link,omitempty"`
	Context string `json:"context,omitempty"`
	// Title is that of the link.
	Title string `json:"title,omitempty"`
	// Locale is the language in which the learning system shows itself, "" if unknown.
	Locale string `json:"locale,omitempty"`
	// Custom is what a link was given when it was chosen.
	Custom map[string]string `json:"custom,omitempty"`
	// Assignment is ours that the link is for, Reference that of the person who comes; both
	// are said by [Tool.Opens].
	Assignment string `json:"assignment,omitempty"`
	Reference  string `json:"reference,omitempty"`
	// Return leads back to the learning system, "" if it did not say where.
	Return string `json:"return,omitempty"`
	// Names, Grades and Choice are nil where the launch offers no such service.
	Names  *NamesService `json:"names,omitempty"`
	Grades *GradeService `json:"grades,omitempty"`
	Choice *Choice       `json:"choice,omitempty"`
}

// NamesService is where the members of a course are listed (NRPS 3.6.1).
type NamesService struct {
	Address string `json:"address"`
}

// GradeService is where the columns of the gradebook are (AGS 3.1).
type GradeService struct {
	Scopes []string `json:"scopes"`
	// LineItem is the column that is coupled to the link, "" if there is none or
	// several; LineItems lists those of the course, "" if that is not offered.
	LineItem  string `json:"line_item,omitempty"`
	LineItems string `json:"line_items,omitempty"`
}

// Choice is what deep linking lets be chosen (DL 4.4.1).
type Choice struct {
	Return   string   `json:"return"`
	Types    []string `json:"types"`
	Multiple bool     `json:"multiple"`
	// LineItems tells that columns of the gradebook are made for what is chosen, nil
	// that the learning system did not say.
	LineItems *bool  `json:"line_items,omitempty"`
	Title     string `json:"title,omitempty"`
	Text      string `json:"text,omitempty"`
	// Data goes back as it came; HasData is false where there was none.
	Data    string `json:"data,omitempty"`
	HasData bool   `json:"has_data,omitempty"`
}

// Teacher tells that the roles are those of somebody who teaches or runs the course.
func (m *Message) Teacher() bool { return slices.ContainsFunc(m.Roles, isTeacher) }

// Pupil tells that the roles are those of somebody who learns in the course.
func (m *Message) Pupil() bool { return slices.ContainsFunc(m.Roles, isPupil) }

// membership begins the roles in a course (Core A.2.2). By themselves they may be
// written short (Core A.2.3.1); roles in an institution say nothing of this course.
const membership = "http://purl.imsglobal.org/vocab/lis/v2/membership"

func isTeacher(role string) bool { return inCourse(role, "Instructor", "Administrator") }

func isPupil(role string) bool { return inCourse(role, "Learner") }

// inCourse reads a role: a principal one, MEMBERSHIP#Instructor, a part of one,
// MEMBERSHIP/Instructor#TeachingAssistant, or a short one, Instructor.
func inCourse(role string, principal ...string) bool {
	if slices.Contains(principal, role) {
		return true
	}
	rest, found := strings.CutPrefix(role, membership)
	if !found {
		return false
	}
	main := strings.TrimPrefix(rest, "#")
	if part, isPart := strings.CutPrefix(rest, "/"); isPart {
		main, _, _ = strings.Cut(part, "#")
	}
	return slices.Contains(principal, main)
}

// readMessage reads what a token asks for. Unknown claims and roles are passed over
// (Core 5.3, 5.3.7); names, addresses and pictures of people are not looked at.
func readMessage(c claims) (*Message, error) {
	m := &Message{}
	for _, read := range []func(claims, *Message) error{
		readVersionAndKind, readDeployment, readSubject, readRoles, readLink, readSettings, readPresentation, readServices,
	} {
		if err := read(c, m); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// identifier reads a claim that names something; what is too long is refused.
func (c claims) identifier(name string) (string, error) {
	text, err := c.text(name)
	if err == nil && len(text) > maxIdentifier {
		err = MalformedClaim.Because("The claim " + name + claimTooLong)
	}
	return text, err
}

func readVersionAndKind(c claims, m *Message) error {
	v, err := c.text(claimPrefix + "version")
	if err != nil {
		return err
	}
	if v != version { // Core 5.3.2
		return WrongVersion.Because("The version of the message is missing or another than 1.3.0.")
	}
	kind, err := c.text(claimPrefix + "message_type") // Core 5.3.1
	switch {
	case err != nil:
		return err
	case kind == "":
		return MissingMessageType.Because("The message has no type.")
	case kind == typeLaunch:
		m.Kind = Launch
	case kind == typeDeepLinking:
		m.Kind = DeepLinking
	default:
		return WrongMessageType.Because("The type of the message is another than " + typeLaunch + " or " + typeDeepLinking + ".")
	}
	return nil
}

func readDeployment(c claims, m *Message) (err error) {
	if m.Deployment, err = c.identifier(claimPrefix + "deployment_id"); err == nil && m.Deployment == "" { // Core 5.3.3
		err = MissingDeployment.Because("The message does not say to which deployment it belongs.")
	}
	return err
}

// readSubject: a launch without sub is anonymous (Core 5.3.6.1); whether it is let in is
// decided later.
func readSubject(c claims, m *Message) (err error) {
	m.Subject, err = c.identifier("sub")
	return err
}

// readRoles: the list must be there and may be empty (Core 5.3.7).
func readRoles(c claims, m *Message) error {
	if !c.has(claimPrefix + "roles") {
		return MissingRoles.Because("The message has no list of roles.")
	}
	m.Roles = []string{}
	if err := c.read(claimPrefix+"roles", &m.Roles); err != nil {
		return err
	}
	if len(m.Roles) > maxRoles || slices.ContainsFunc(m.Roles, func(role string) bool { return len(role) > maxTitle }) {
		return MalformedClaim.Because("The claim " + claimPrefix + "roles" + claimTooLong)
	}
	return nil
}

func readLink(c claims, m *Message) error {
	var link, context struct{ ID, Title string }
	var err error
	if m.Target, err = c.text(claimPrefix + "target_link_uri"); err != nil {
		return err
	}
	if err := c.read(claimPrefix+"resource_link", &link); err != nil {
		return err
	}
	if err := c.read(claimPrefix+"context", &context); err != nil {
		return err
	}
	m.Link, m.Title, m.Context = link.ID, cut(link.Title), context.ID
	switch {
	case m.Kind == Launch && m.Link == "": // Core 5.3.5
		return MissingResourceLink.Because("The launch does not say which link was followed.")
	case m.Kind == Launch && m.Target == "": // Core 5.3.4
		return MissingTarget.Because("The launch does not say what is to be opened.")
	case len(m.Link) > maxIdentifier || len(m.Context) > maxIdentifier || len(m.Target) > maxAddress:
		return MalformedClaim.Because("A claim about the link, its course or its target" + claimTooLong)
	}
	return nil
}

// cut keeps a title to a length that can be shown.
func cut(title string) string {
	if len(title) <= maxTitle {
		return title
	}
	return strings.ToValidUTF8(title[:maxTitle], "")
}

// readSettings reads what deep linking asks for (DL 4.4.1).
func readSettings(c claims, m *Message) error {
	if m.Kind != DeepLinking {
		return nil
	}
	var s struct {
		Return   string   `json:"deep_link_return_url"`
		Types    []string `json:"accept_types"`
		Targets  []string `json:"accept_presentation_document_targets"`
		Multiple *bool    `json:"accept_multiple"`
		LineItem *bool    `json:"accept_lineitem"`
		Title    string   `json:"title"`
		Text     string   `json:"text"`
		Data     *string  `json:"data"`
	}
	if err := c.read(claimSettings, &s); err != nil {
		return err
	}
	if s.Return == "" || len(s.Types) == 0 || len(s.Targets) == 0 {
		return MissingSettings.Because("The message asks for a choice and lacks deep_link_return_url, accept_types or accept_presentation_document_targets.")
	}
	m.Choice = &Choice{
		Return: s.Return, Types: s.Types, Multiple: s.Multiple == nil || *s.Multiple, LineItems: s.LineItem,
		Title: cut(s.Title), Text: cut(s.Text), HasData: s.Data != nil,
	}
	if s.Data != nil {
		m.Choice.Data = *s.Data
	}
	if len(s.Return) > maxAddress || len(m.Choice.Data) > maxData || len(s.Types) > maxScopes {
		return MalformedClaim.Because("The claim " + claimSettings + claimTooLong)
	}
	return nil
}

func readPresentation(c claims, m *Message) error {
	var p struct {
		Locale string `json:"locale"`
		Return string `json:"return_url"`
	}
	if err := c.read(claimPrefix+"launch_presentation", &p); err != nil {
		return err
	}
	if len(p.Locale) <= maxIdentifier && len(p.Return) <= maxAddress {
		m.Locale, m.Return = p.Locale, p.Return
	}
	var custom map[string]json.RawMessage
	if err := c.read(claimPrefix+"custom", &custom); err != nil {
		return err
	}
	if len(custom) > maxCustom {
		return MalformedClaim.Because("The claim " + claimPrefix + "custom" + claimTooLong)
	}
	for name, raw := range custom { // Core 5.4.6: values are texts; others are passed over
		var value string
		if json.Unmarshal(raw, &value) == nil && len(name) <= maxIdentifier && len(value) <= maxTitle {
			if m.Custom == nil {
				m.Custom = map[string]string{}
			}
			m.Custom[name] = value
		}
	}
	return nil
}

func readServices(c claims, m *Message) error {
	var names struct {
		Address  string   `json:"context_memberships_url"`
		Versions []string `json:"service_versions"`
	}
	if err := c.read(claimNames, &names); err != nil {
		return err
	}
	if names.Address != "" && (len(names.Versions) == 0 || slices.Contains(names.Versions, "2.0")) {
		m.Names = &NamesService{names.Address}
	}
	var grades struct {
		Scope     []string `json:"scope"`
		LineItem  string   `json:"lineitem"`
		LineItems string   `json:"lineitems"`
	}
	if err := c.read(claimEndpoint, &grades); err != nil {
		return err
	}
	if len(grades.Scope) > maxScopes || len(grades.LineItem) > maxAddress || len(grades.LineItems) > maxAddress || len(names.Address) > maxAddress {
		return MalformedClaim.Because("A claim about a service" + claimTooLong)
	}
	if len(grades.Scope) > 0 {
		m.Grades = &GradeService{grades.Scope, grades.LineItem, grades.LineItems}
	}
	return nil
}
