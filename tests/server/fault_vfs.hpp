#pragma once
// An SQLite VFS that passes everything to the system's own and fails one write or sync when told to.

#include <string>

namespace nappe::tests {

struct Faults {
  int writes_left = -1;  ///< Writes that still succeed; negative: all.
  int syncs_left = -1;
  bool failed = false;  ///< A fault has been injected. From then on every write and sync fails, as on a dead disk.
};

/// The one set of faults (SQLite's VFS list is global as well).
Faults& faults();

/// Registers the VFS once; its name.
std::string fault_vfs();

}  // namespace nappe::tests
