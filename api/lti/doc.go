// Package lti is the tool's side of 1EdTech's LTI 1.3 with LTI Advantage: a learning
// system logs somebody in here, launches an assignment, chooses one (deep linking),
// tells who is in a course (Names and Role Provisioning), takes marks (Assignment and
// Grade Services), and is registered by one address (Dynamic Registration). Begin with
// [New].
//
// What is checked is written beside each check, by section: "Core" is LTI Core 1.3,
// "Security" the 1EdTech Security Framework 1.0 (1.1 says the same there), "AGS", "NRPS"
// and "DL" the Advantage services 2.0, "DR" LTI Dynamic Registration 1.0, "Storage" LTI
// postMessage Storage 0.1 with LTI OIDC Login with LTI Client Side postMessages 0.1, and
// "OIDC" OpenID Connect Core 1.0. AGS was read beside the code; numbers of sections of
// the others are from memory.
//
// Of a person nothing is read or kept but the learning system's opaque reference. Names
// come from Names and Roles for whoever asks at that moment, and are never stored.
package lti
