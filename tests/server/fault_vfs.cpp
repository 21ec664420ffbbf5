#include "tests/server/fault_vfs.hpp"

#include <sqlite3.h>

#include <new>

namespace nappe::tests {

namespace {

/// The file as SQLite sees it, with the system's file behind it in the same allocation.
struct FaultFile {
  sqlite3_file base;
  sqlite3_file* real;
};

sqlite3_file* real(sqlite3_file* file) { return reinterpret_cast<FaultFile*>(file)->real; }

bool fails(int& left) {
  if (faults().failed) return true;
  if (left < 0) return false;
  if (left-- > 0) return false;
  faults().failed = true;
  return true;
}

int close_file(sqlite3_file* f) { return real(f)->pMethods->xClose(real(f)); }
int read_file(sqlite3_file* f, void* to, int n, sqlite3_int64 at) {
  return real(f)->pMethods->xRead(real(f), to, n, at);
}
int write_file(sqlite3_file* f, const void* from, int n, sqlite3_int64 at) {
  if (fails(faults().writes_left)) return SQLITE_IOERR_WRITE;
  return real(f)->pMethods->xWrite(real(f), from, n, at);
}
int truncate_file(sqlite3_file* f, sqlite3_int64 n) { return real(f)->pMethods->xTruncate(real(f), n); }
int sync_file(sqlite3_file* f, int flags) {
  if (fails(faults().syncs_left)) return SQLITE_IOERR_FSYNC;
  return real(f)->pMethods->xSync(real(f), flags);
}
int file_size(sqlite3_file* f, sqlite3_int64* n) { return real(f)->pMethods->xFileSize(real(f), n); }
int lock_file(sqlite3_file* f, int level) { return real(f)->pMethods->xLock(real(f), level); }
int unlock_file(sqlite3_file* f, int level) { return real(f)->pMethods->xUnlock(real(f), level); }
int check_lock(sqlite3_file* f, int* out) { return real(f)->pMethods->xCheckReservedLock(real(f), out); }
int control_file(sqlite3_file* f, int op, void* arg) { return real(f)->pMethods->xFileControl(real(f), op, arg); }
int sector_size(sqlite3_file* f) { return real(f)->pMethods->xSectorSize(real(f)); }
int characteristics(sqlite3_file* f) { return real(f)->pMethods->xDeviceCharacteristics(real(f)); }
int map_shared(sqlite3_file* f, int page, int size, int extend, void volatile** out) {
  return real(f)->pMethods->xShmMap(real(f), page, size, extend, out);
}
int lock_shared(sqlite3_file* f, int offset, int n, int flags) {
  return real(f)->pMethods->xShmLock(real(f), offset, n, flags);
}
void barrier(sqlite3_file* f) { real(f)->pMethods->xShmBarrier(real(f)); }
int unmap_shared(sqlite3_file* f, int remove) { return real(f)->pMethods->xShmUnmap(real(f), remove); }

sqlite3_io_methods make_methods() {
  sqlite3_io_methods methods{};
  methods.iVersion = 2;
  methods.xClose = close_file;
  methods.xRead = read_file;
  methods.xWrite = write_file;
  methods.xTruncate = truncate_file;
  methods.xSync = sync_file;
  methods.xFileSize = file_size;
  methods.xLock = lock_file;
  methods.xUnlock = unlock_file;
  methods.xCheckReservedLock = check_lock;
  methods.xFileControl = control_file;
  methods.xSectorSize = sector_size;
  methods.xDeviceCharacteristics = characteristics;
  methods.xShmMap = map_shared;
  methods.xShmLock = lock_shared;
  methods.xShmBarrier = barrier;
  methods.xShmUnmap = unmap_shared;
  return methods;
}

sqlite3_vfs* system_vfs = nullptr;

int open_file(sqlite3_vfs*, const char* name, sqlite3_file* file, int flags, int* out) {
  static const sqlite3_io_methods methods = make_methods();
  auto* opened = reinterpret_cast<FaultFile*>(file);
  opened->real = reinterpret_cast<sqlite3_file*>(opened + 1);
  const int result = system_vfs->xOpen(system_vfs, name, opened->real, flags, out);
  opened->base.pMethods = result == SQLITE_OK ? &methods : nullptr;
  return result;
}

}  // namespace

Faults& faults() {
  static Faults held;
  return held;
}

std::string fault_vfs() {
  static sqlite3_vfs vfs = [] {
    system_vfs = sqlite3_vfs_find(nullptr);
    sqlite3_vfs made = *system_vfs;
    made.zName = "fault";
    made.szOsFile = static_cast<int>(sizeof(FaultFile)) + system_vfs->szOsFile;
    made.xOpen = open_file;
    return made;
  }();
  sqlite3_vfs_register(&vfs, 0);
  return "fault";
}

}  // namespace nappe::tests
