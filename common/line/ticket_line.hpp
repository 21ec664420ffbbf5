#pragma once
// A whole ticket in one line of typing.
//
//   8: 1e 2m 3m 4k!gluten 5e 6k / 1h 2h"sauce beside" 3p 4h 5p 6u / 1d 4r-crumb "birthday"
//
// table, a colon, then the courses in the kitchen's order, between strokes. A plate is the position and the dish's
// letter; behind it, without a blank, in any order and number: `!name` an allergy of the guest (it holds for all
// courses; a blank within the name is written `_`), `-part` a part left off, "words" a change for the cook (once).
// `4!gluten` without a letter says something about a guest who eats nothing in that course. A course nobody eats is `-`
// or nothing. Words in quotes standing alone at the end are the ticket's note. In quotes \" is a quote and \\ a stroke.

#include <string>
#include <string_view>
#include <vector>

#include "common/kitchen/kitchen.hpp"
#include "common/line/order.hpp"
#include "common/result.hpp"

namespace nappe::line {

/// Most bytes of a change or a note, and most characters of a line that is read at all.
constexpr std::size_t words_max = 200;
constexpr std::size_t ticket_line_max = 4000;

/// Reads a line. Parts an allergic guest must not have and the dish can go without are put into `left_off` by
/// themselves; allergy_notes() says which. The order has passed check_order(). An error gives one sentence that begins
/// with the column (in characters, from 1; `where` is "1:COLUMN") and says what to do.
/// In the order guests go by position, names of allergens are those of allergen.hpp, courses without plates are absent.
Result<Order> read_ticket_line(std::string_view text, const kitchen::Kitchen& kitchen);

/// The line that reads as this order. The order must have passed check_order() in this kitchen.
std::string write_ticket_line(const Order& order, const kitchen::Kitchen& kitchen);

/// Whether the kitchen can take this order: table, courses, dishes, positions, parts and allergens are known, nobody
/// has two plates in a course, and no guest is given what their allergies must not meet: such a plate is refused with
/// what the guest can have instead. `where` is an RFC 6901 pointer into the order ("/courses/0/plates/3").
/// `seats`: how many positions there are when tables have been pushed together; 0: those of the order's table.
Status check_order(const Order& order, const kitchen::Kitchen& kitchen, int seats = 0);

/// The same order with every part left off that a guest's allergies ask for and the dish can go without.
Order leave_off_for_allergies(Order order, const kitchen::Kitchen& kitchen);

/// For each plate of an allergic guest that is made differently, one line to read back to the guest:
/// "position 4, gluten: pear without crumb".
std::vector<std::string> allergy_notes(const Order& order, const kitchen::Kitchen& kitchen);

}  // namespace nappe::line
