#pragma once
// The small file in which a screen keeps the presses that the server has not answered.

#include <filesystem>
#include <string>

#include "common/result.hpp"

namespace nappe::client {

/// $XDG_STATE_HOME/nappe, else ~/.local/state/nappe (XDG Base Directory Specification 0.8).
std::filesystem::path state_folder();

/// One process at a time has a file; it is locked as long as this lives.
class KeptFile {
 public:
  /// Opens (and makes) "<name>.presses" in the folder; when another screen of the same name has it, "<name>-2.presses"
  /// and so on up to nine.
  static Result<KeptFile> open(const std::filesystem::path& folder, const std::string& name);
  KeptFile(KeptFile&& other) noexcept;
  KeptFile& operator=(KeptFile&& other) noexcept;
  ~KeptFile();

  [[nodiscard]] std::string read() const;
  /// Replaces the content whole: after a crash the file holds the old text or the new one.
  Status write(const std::string& text) const;
  [[nodiscard]] const std::filesystem::path& path() const { return path_; }

 private:
  KeptFile() = default;
  std::filesystem::path path_;
  int lock_ = -1;
};

}  // namespace nappe::client
