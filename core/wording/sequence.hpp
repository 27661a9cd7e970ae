#pragma once
#include "domain/project.hpp"
#include "wording/catalogue.hpp"

#include <string>
#include <vector>

namespace halflight::wording {

// The sequence of operations of a space in its two written forms. Both read the same data; every value in
// either carries its JSON pointer into the document ("/designs/1/sequences/0/vacancy/delay_s"), so that an
// editor can change it where it is read.

/// The paragraph: full sentences, separated by spaces, in the order in which a visitor would meet them.
std::vector<Phrase> sequence_sentence(const domain::Project& project, const domain::Design& design,
                                      const domain::Sequence& sequence, Catalogue catalogue = english);

/// Event by group. An empty cell means no change.
struct SequenceMatrix {
  struct Row {
    Sentence event;
    std::vector<Sentence> cells;  ///< one per group
  };
  std::vector<std::string>
      groups;  ///< names: the space's scene groups, or those of the next strategy that has any
  std::vector<Row> rows;
};

/// A group of another strategy (a daylight group, say) acts on the columns with which it shares a channel.
SequenceMatrix sequence_matrix(const domain::Project& project, const domain::Design& design,
                               const domain::Sequence& sequence, Catalogue catalogue = english);

}  // namespace halflight::wording
