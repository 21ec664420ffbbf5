#pragma once
// A folder of its own for one test, gone at the end; in memory where the system has such a place.

#include <cstdlib>
#include <filesystem>
#include <string>

namespace nappe::tests {

class TemporaryFolder {
 public:
  TemporaryFolder() {
    const std::filesystem::path memory("/dev/shm");
    const auto place = std::filesystem::is_directory(memory) ? memory : std::filesystem::temp_directory_path();
    std::string name = (place / "nappe-test-XXXXXX").string();
    if (::mkdtemp(name.data()) == nullptr) std::abort();
    path_ = name;
  }
  ~TemporaryFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(path_, ignored);
  }
  TemporaryFolder(const TemporaryFolder&) = delete;
  TemporaryFolder& operator=(const TemporaryFolder&) = delete;

  [[nodiscard]] const std::filesystem::path& path() const { return path_; }
  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }

 private:
  std::filesystem::path path_;
};

}  // namespace nappe::tests
