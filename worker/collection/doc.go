// Package collection writes what was found in many scores as tables that an SQL engine
// reads: Apache Parquet, one file a table. Scores, findings, harmonies and cadences are
// joined by the columns batch and score. README.md beside this file describes every
// column and answers questions with it.
package collection
