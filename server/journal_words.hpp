#pragma once
// Free words about guests (a ticket's note, a plate's change, why a ticket was cancelled) stand beside the chain of the
// journal, not in it: in the event stands "words:" and the SHA-256 of salt and words. So they can be let go of when the
// table has gone, the chain still shows that nothing was altered, and without the salt nobody can try names against it.

#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

namespace nappe::server {

/// Words of one event: where in its body (RFC 6901), and what.
struct KeptWords {
  std::string place;
  std::string salt;  ///< Hexadecimal, random.
  std::string words;
};

struct HiddenBody {
  std::string body;  ///< With digests for words.
  std::int64_t ticket = 0;
  std::vector<KeptWords> words;
};

/// Whether an event of this name may hold words about guests.
bool may_hold_words(std::string_view name);

/// The body as it goes into the chain; nothing when there are no words in it.
std::optional<HiddenBody> hide_words(std::string_view name, const std::string& body);

/// The body with its words again (by place); those that are not there any more are empty.
std::string with_words(const std::string& body, const std::map<std::string, std::string>& words);

/// What stands in the chain for these words.
std::string words_digest(std::string_view salt, std::string_view words);

/// The place of the first words here that the body does not stand for: altered, or put there later. Empty: none.
std::string altered_words(const std::string& body, const std::vector<KeptWords>& words);

}  // namespace nappe::server
