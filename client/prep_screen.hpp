#pragma once
// The prep list in a terminal of its own: `nappe prep DIR --list`.

#include "client/crossings.hpp"
#include "client/prep_view.hpp"
#include "common/result.hpp"

namespace nappe::client {

/// Shows the list until it is quit. Every crossing is in the file before the next key is read.
Status show_prep(PrepModel model, CrossingsFile& file, bool colour);

}  // namespace nappe::client
