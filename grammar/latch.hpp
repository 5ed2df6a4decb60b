// The grammar of `language 1`, whole, in PEGTL. It is the reference: docs/language.md explains it,
// docs/grammar.ebnf publishes it, and tests/grammar.py holds the two to each other.
//
// Two layers. `written` says how characters make tokens; the rest says how tokens (tokens.hpp) make a room.
// Every statement, part, line, action, deed and option is known from its first word; `at<…>` looks at two
// tokens at most; no rule backs up over more than that. Rules only: the wording of mistakes is in
// messages.hpp, what becomes of a match in compiler/syntax. `wrong` holds forms that people write and the
// language refuses: they are read whole, so that the mistake can be shown with its repair and what follows is
// still understood. Tests: tests/unit/syntax/grammar_test.cpp proves with PEGTL's analyze that no rule loops
// without consuming.
#pragma once

#include <tao/pegtl.hpp>
#include <tao/pegtl/contrib/uint8.hpp>

#include "grammar/tokens.hpp"

namespace lw::grammar {

using tao::pegtl::at;
using tao::pegtl::if_must;
using tao::pegtl::must;
using tao::pegtl::opt;
using tao::pegtl::plus;
using tao::pegtl::seq;
using tao::pegtl::sor;
using tao::pegtl::star;

// ---- characters make tokens ----

namespace written {

using namespace tao::pegtl;

struct blank : plus<one<' ', '\t', '\r', '\n'>> {};
struct comment : seq<one<'#'>, star<not_one<'\n'>>> {};
struct name : seq<lower, star<sor<lower, digit, one<'_'>>>> {};
struct fail_safe : seq<TAO_PEGTL_STRING("fail-safe"), not_at<sor<alnum, one<'_', '-'>>>> {};
struct fail_secure : seq<TAO_PEGTL_STRING("fail-secure"), not_at<sor<alnum, one<'_', '-'>>>> {};
struct terminal : seq<upper, star<sor<upper, digit>>> {};
struct text : seq<one<'"'>, star<sor<two<'"'>, not_one<'"', '\n'>>>, one<'"'>> {};
struct digits : plus<digit> {};
struct fraction : seq<one<'.'>, digits> {};
struct unit_sign : sor<TAO_PEGTL_STRING("µ"), TAO_PEGTL_STRING("μ"), TAO_PEGTL_STRING("°")> {};
struct unit : seq<sor<alpha, unit_sign>, star<sor<alnum, unit_sign>>> {};  // which ones there are: words.def
struct percent : one<'%'> {};
struct plus_minus : sor<TAO_PEGTL_STRING("±"), TAO_PEGTL_STRING("+-")> {};
struct arrow : sor<TAO_PEGTL_STRING("→"), TAO_PEGTL_STRING("->")> {};
struct times : sor<TAO_PEGTL_STRING("×"), seq<one<'x'>, not_at<sor<alnum, one<'_'>>>>> {
};  // after a number alone

}  // namespace written

// ---- tokens make a room ----

/// One of these tokens.
template <Token... T>
struct word : tao::pegtl::uint8::one<T...> {};

/// An item of a list in braces, or a statement. One that cannot be read is reported, and reading goes on at
/// the next.
template <typename Item>
struct item : seq<Item, opt<word<comma_>>> {};
/// What stands before braces. If it cannot be read it is reported, and reading goes on at the braces.
template <typename... Rules>
struct head : seq<must<Rules>...> {};

/// A word or name as a look ahead, which leaves no trace.
struct any_name : tao::pegtl::uint8::range<kFirstName, plain_name> {};
struct any_word : tao::pegtl::uint8::range<kFirstReserved, plain_name> {};

struct open : word<open_brace> {};
struct close : word<close_brace> {};
template <typename Item>
struct block : seq<open, star<item<Item>>, must<close>> {};
/// Where what stands before braces ends: at the braces, or, where those may be left out, at the next item.
struct opening : at<open> {};
struct ending
    : at<sor<word<open_brace, close_brace, comma_, w_language, w_use, w_room, w_board, w_controller, w_link,
                  w_thing, w_scale, w_gauge, w_contact, w_button, w_reader, w_keypad, w_signal, w_lamp,
                  w_relay, w_motor, w_lock, w_voice, w_clip, w_cue, w_let, w_design, w_prop, w_chain,
                  w_promise, w_rehearsal, w_accept, w_takes, w_window, w_timer, w_counter, w_sequence,
                  w_state, w_in, w_ready, w_enter, w_leave, w_keep, w_tell, w_when, w_after>,
             tao::pegtl::eof>> {};

/// A list goes on after a comma if the next token can go on with it; else the comma stands between two items.
template <typename Element>
struct list : seq<Element, star<word<comma_>, Element>> {};

// ---- names, numbers, text ----

struct name : tao::pegtl::uint8::range<kFirstName, plain_name> {};
struct reserved : tao::pegtl::uint8::range<kFirstReserved, kFirstName - 1> {};
struct text : word<text_> {};
struct terminal : word<terminal_, text_> {};
struct percent : word<percent_> {};

namespace wrong {
struct no_unit : word<number, decimal> {};       // 418
struct not_whole : word<decimal, quantity_> {};  // 1.5, 3 g
struct reserved_name : reserved {};              // controller counter is …
}  // namespace wrong

struct quantity : sor<word<quantity_>, wrong::no_unit> {};
struct whole : sor<word<number>, wrong::not_whole> {};
struct time : sor<quantity, name> {};  // a name: of a `let` or a `takes`

struct board_name : name {};
struct button_name : name {};
struct clip_name : name {};
struct code_name : name {};
struct controller_name : name {};
struct counter_name : name {};
struct cue_name : name {};
struct design_name : name {};
struct device_name : name {};
struct gauge_name : name {};
struct keypad_name : name {};
struct link_name : name {};
struct output_name : name {};
struct place_name : name {};
struct prop_name : name {};
struct scale_name : name {};
struct state_name : name {};
struct thing_name : name {};
struct timer_name : name {};
struct voice_name : name {};

/// The name that a statement declares, before one of the tokens that may follow it.
template <Token... Follow>
struct declared
    : sor<name,
          seq<tao::pegtl::not_at<word<Follow...>>, at<reserved, word<Follow...>>, wrong::reserved_name>> {};

// ---- conditions ----

struct cond;
struct term;

struct anything : seq<word<w_anything>, opt<word<w_but>, must<thing_name>>> {};
struct what_is_read : sor<word<w_nothing>, anything, thing_name> {};
struct reads : if_must<word<w_reads>, what_is_read> {};
struct keys : text {};
struct enters : if_must<word<w_enters>, keys> {};
namespace wrong {
struct is_word : seq<word<w_is>, name> {};                                   // balance is empty
struct late_not : seq<word<w_not>, name> {};                                 // balance not empty
struct late_word : seq<word<number>, opt<word<w_is, w_above, w_below>>> {};  // misses 2 is; misses 2
}  // namespace wrong
struct is : if_must<word<w_is>, whole> {};
struct bound : sor<word<quantity_>, word<number>, wrong::not_whole> {};
struct above : if_must<word<w_above>, bound> {};
struct below : if_must<word<w_below>, bound> {};
struct past : if_must<word<w_past>, time> {};
struct has_left : if_must<word<w_has>, time, word<w_left>> {};
struct at_percent : seq<word<w_at>, percent> {};
struct plain_predicate : sor<word<w_blinking>, word<w_on>, word<w_off>, name> {};
struct predicate : sor<reads, enters, wrong::is_word, is, above, below, past, has_left, at_percent,
                       plain_predicate, wrong::late_not, wrong::late_word> {};
struct member : name {};
struct subject : sor<word<w_session, w_finish>, seq<name, opt<word<dot_>, must<member>>>> {};
struct fact : seq<subject, opt<predicate>> {};

struct negation : if_must<word<w_not>, term> {};
struct bracketed : if_must<word<open_bracket>, cond, word<close_bracket>> {};
struct of_these
    : seq<word<open_bracket>, must<cond>, star<word<comma_>, must<cond>>, must<word<close_bracket>>> {};
struct count_of : if_must<word<w_any, w_exactly>, whole, word<w_of>, of_these> {};
/// Nesting is limited, so that no text can exhaust the stack.
struct term : sor<negation, bracketed, count_of, fact> {};

struct all_of : plus<word<w_and>, must<term>> {};
struct some_of : plus<word<w_or>, must<term>> {};
namespace wrong {
struct mixed : plus<word<w_and, w_or>, must<term>> {};  // a and b or c
}  // namespace wrong
struct cond : seq<term, opt<sor<all_of, some_of>>, opt<wrong::mixed>> {};
struct cond_begin : sor<name, word<w_not, open_bracket, w_any, w_exactly, w_session, w_finish>> {};

struct for_time : if_must<word<w_for>, time> {};
struct held : seq<cond, opt<for_time>> {};

// ---- levels and actions ----

struct blinking : if_must<word<w_blinking>, word<w_every>, time> {};
struct playing : if_must<word<w_playing>, clip_name> {};
struct level
    : sor<word<w_on, w_off, w_released, w_secured>, if_must<word<w_at>, percent>, blinking, playing> {};
struct outputs : list<output_name> {};

struct keep_for : if_must<word<w_keep>, outputs, level, word<w_for>, time> {};
struct loudness : if_must<word<w_at>, percent> {};
struct play : seq<word<w_play>, must<clip_name>, must<word<w_on>>, must<voice_name>, opt<loudness>> {};
struct quiet : if_must<word<w_quiet>, voice_name> {};
struct start_timer : if_must<word<w_start>, timer_name> {};
struct stop_timer : if_must<word<w_stop>, timer_name> {};
struct add : if_must<word<w_add>, whole, word<w_to>, counter_name> {};
struct take_from : if_must<word<w_take>, whole, word<w_from>, counter_name> {};
struct set_to : if_must<word<w_set>, counter_name, word<w_to>, whole> {};
struct send : if_must<word<w_send>, cue_name> {};
struct action : sor<keep_for, play, quiet, start_timer, stop_timer, add, take_from, set_to, send> {};
struct actions : block<action> {};
namespace wrong {
struct bare_action : action {};  // enter play ring on horn
struct bare_keep : seq<word<w_keep>, outputs, level, word<w_for>, time> {};
struct bare_act : sor<bare_keep, play, quiet, start_timer, stop_timer, add, take_from, set_to, send> {};
}  // namespace wrong

struct target : state_name {};
struct move : if_must<word<arrow_>, target> {};
struct again : if_must<word<w_again>, word<w_every>, time> {};
struct effect : sor<seq<actions, opt<move>>, move> {};
namespace wrong {
struct clause : sor<for_time, again, actions, move> {};
struct late_clauses : plus<clause> {};  // -> open for 1 s
}  // namespace wrong
struct effects : sor<effect, wrong::bare_act, at<word<w_for, w_again>>> {};

// ---- options ----

struct terminals
    : seq<terminal, opt<word<w_to>, must<terminal>>, opt<word<w_up>, must<word<w_to>>, must<quantity>>> {};
struct by_operator : seq<word<w_by>, must<word<w_operator>>, opt<text>> {};
struct starts_when : if_must<word<w_when>, held> {};
struct starts : sor<by_operator, starts_when> {};
struct finishing : seq<prop_name, star<word<comma_>, tao::pegtl::not_at<word<w_starts>>, prop_name>> {};
struct free_word : sor<name, word<terminal_>> {};

struct time_option
    : if_must<word<w_session, w_scan, w_settle, w_debounce, w_gap, w_longest, w_within>, time> {};
struct delay_option : if_must<word<w_delay>, word<w_up>, word<w_to>, time> {};
struct lost_option : if_must<word<w_lost>, word<w_after>, time> {};
struct quantity_option
    : if_must<word<w_table, w_memory, w_capacity, w_division, w_drift, w_rests, w_draws>, quantity> {};
struct empty_option : if_must<word<w_empty>, word<w_below>, quantity> {};
struct repeats_option : if_must<word<w_repeats>, word<w_within>, quantity> {};
struct total_option : if_must<word<w_total>, word<w_up>, word<w_to>, quantity> {};
struct supply_option : if_must<word<w_supply>, quantity, word<w_up>, word<w_to>, quantity> {};
struct run_option : if_must<word<w_run>, quantity, word<w_of>, quantity> {};
struct from_option : if_must<word<w_from>, quantity, word<w_to>, quantity> {};
struct terminals_option
    : if_must<word<w_inputs, w_outputs, w_scales, w_readers, w_keypads, w_gauges, w_voices, w_links>,
              terminals> {};
struct text_option : if_must<word<w_tag, w_home>, text> {};
struct texts_option : seq<word<w_sounds>, must<text>, star<word<comma_>, text>> {};
struct count_option : if_must<word<w_count>, whole> {};
struct word_option : if_must<word<w_spread, w_class>, free_word> {};
struct means_option : if_must<word<w_closed, w_open>, word<w_means>, name> {};
struct level_option : if_must<word<w_rest>, level> {};
struct ignored_option : if_must<word<w_wrong>, word<w_ignored>> {};
struct flag_option : word<w_wraps, w_exit, fail_safe_, fail_secure_> {};
struct starts_option : if_must<word<w_starts>, starts> {};
struct finish_option : if_must<word<w_finish>, finishing> {};

struct option : sor<time_option, delay_option, lost_option, quantity_option, empty_option, repeats_option,
                    total_option, supply_option, run_option, from_option, terminals_option, text_option,
                    texts_option, count_option, word_option, means_option, level_option, ignored_option,
                    flag_option, starts_option, finish_option> {};
struct options : block<option> {};

// ---- what a room, a prop or a state may declare ----

struct let_value : sor<quantity, cond> {};
struct let : if_must<word<w_let>, declared<w_be>, word<w_be>, let_value> {};

struct empty_pan : word<w_empty> {};
struct edge : sor<empty_pan, quantity, name> {};
struct addend : sor<seq<word<number>, word<times_>, must<thing_name>>, quantity, name> {};
struct sum : seq<addend, star<word<plus_>, must<addend>>> {};
struct width : sor<percent, quantity> {};
struct tolerance : if_must<word<plus_minus>, width> {};
struct up_to_end : if_must<word<w_to>, quantity> {};
struct above_edge : if_must<word<w_above>, edge> {};
struct below_edge : if_must<word<w_below>, edge> {};
struct between_edges : if_must<word<w_between>, edge, word<w_and>, edge> {};
struct reach : sor<tolerance, up_to_end> {};
struct around_sum : seq<sum, must<reach>> {};
struct range : sor<above_edge, below_edge, between_edges, around_sum> {};

struct window : if_must<word<w_window>, declared<w_on>, word<w_on>, scale_name, word<colon_>, range> {};
struct timer : if_must<word<w_timer>, declared<colon_>, word<colon_>, time> {};
struct counter : if_must<word<w_counter>, declared<colon_>, word<colon_>, whole, word<w_to>, whole> {};

struct gap_end : if_must<word<plus_minus, w_to>, quantity> {};
struct gap : if_must<quantity, gap_end> {};
namespace wrong {
struct lasting_step : for_time {};  // sequence s: flap shut for 1 s, bell
}  // namespace wrong
struct step : sor<gap, seq<cond, opt<wrong::lasting_step>>> {};
struct each : if_must<word<w_each>, held> {};
struct steps : list<step> {};
struct sequence : seq<word<w_sequence>,
                      head<declared<colon_, w_each>, opt<each>, word<colon_>, steps, ending>, opt<options>> {
};

struct own : sor<window, timer, counter, sequence> {};

// ---- inside a state ----

struct while_cond : if_must<word<w_while>, cond> {};
struct longer : if_must<word<w_then>, time, word<w_longer>> {};
namespace wrong {
struct timed_keep : for_time {};  // keep blue on for 2 s, outside of braces
}  // namespace wrong
struct keep
    : seq<word<w_keep>, must<outputs>, must<level>, opt<wrong::timed_keep>, opt<while_cond>, opt<longer>> {};
struct tell : seq<word<w_tell>, must<text>, opt<while_cond>> {};
struct acts : sor<actions, wrong::bare_action> {};
struct enter : if_must<word<w_enter>, acts> {};
struct leave : if_must<word<w_leave>, acts> {};
struct when : seq<word<w_when>, head<held, opt<again>>, must<effects>, opt<wrong::late_clauses>> {};
struct after : seq<word<w_after>, head<time, opt<again>>, must<effects>, opt<wrong::late_clauses>> {};
struct accept : if_must<word<w_accept>, code_name, text> {};

struct inside_form : sor<let, own, keep, tell, enter, leave, when, after> {};
struct inside : sor<inside_form, seq<plus<accept>, must<inside_form>>> {};
struct insides : block<inside> {};

// ---- parts of a prop or a design ----

struct ready : if_must<word<w_ready>, word<w_when>, held, text> {};
struct every_state : if_must<word<w_every>, word<w_state>> {};
struct these_states : sor<every_state, list<state_name>> {};
struct in : seq<word<w_in>, head<these_states, opening>, insides> {};
struct start_mark : word<w_start> {};
struct goal_mark : word<w_goal> {};
struct state
    : seq<word<w_state>,
          head<declared<open_brace, w_start, w_goal>, opt<start_mark>, opt<goal_mark>, opening>, insides> {};
struct kind : word<w_scale, w_gauge, w_contact, w_button, w_reader, w_keypad, w_signal, w_lamp, w_relay,
                   w_motor, w_lock, w_voice, w_thing, w_clip, w_cue, w_prop, w_time, w_mass> {};
struct place : seq<kind, must<declared<comma_, quantity_, close_brace>>, opt<quantity>> {};
struct takes : if_must<word<w_takes>, list<place>> {};
namespace wrong {
struct wordless_state
    : seq<at<any_name, word<w_start, w_goal, open_brace>>, name, opt<start_mark>, opt<goal_mark>, insides> {};
}  // namespace wrong

struct part_form : sor<let, own, ready, in, state, takes, wrong::wordless_state> {};
struct part : sor<part_form, seq<plus<accept>, must<part_form>>> {};
struct parts : block<part> {};

// ---- statements ----

struct language : if_must<word<w_language>, whole> {};
struct use : if_must<word<w_use>, text> {};
struct room : seq<word<w_room>, head<text, opening>, options> {};
struct board : seq<word<w_board>, head<declared<open_brace>, opening>, options> {};
struct controller
    : seq<word<w_controller>, head<declared<w_is>, word<w_is>, board_name, ending>, opt<options>> {};
struct joined
    : seq<controller_name, must<word<comma_>>, must<controller_name>, star<word<comma_>, controller_name>> {};
struct link : seq<word<w_link>, head<declared<w_joins>, word<w_joins>, joined, ending>, opt<options>> {};
struct thing_mass : seq<quantity, opt<word<plus_minus>, must<quantity>>> {};
struct thing
    : seq<word<w_thing>, head<declared<quantity_, open_brace>, opt<thing_mass>, ending>, opt<options>> {};

struct device_names : seq<declared<w_at, w_by, w_over, w_to>, opt<word<w_to>, must<name>>> {};
struct at_terminal : seq<word<w_at>, must<controller_name>, must<word<dot_>>, must<terminal>,
                         opt<word<w_to>, must<terminal>>> {};
struct by_label : if_must<word<w_by>, word<w_operator>, text> {};
struct over_link : if_must<word<w_over>, link_name, text> {};
struct hangs : sor<at_terminal, by_label, over_link> {};
struct input : seq<word<w_scale, w_gauge, w_contact, w_button, w_reader, w_keypad, w_signal>,
                   head<device_names, hangs, ending>, opt<options>> {};
struct output
    : seq<word<w_lamp, w_relay, w_motor, w_lock, w_voice>, head<device_names, hangs, ending>, opt<options>> {
};
struct clip : if_must<word<w_clip>, declared<text_>, text> {};
struct cue : if_must<word<w_cue>, declared<w_over>, word<w_over>, link_name, text> {};

struct design : seq<word<w_design>, head<declared<open_brace>, opening>, parts> {};
struct given : if_must<place_name, time> {};
struct givens : block<given> {};
struct prop_of_design
    : seq<head<declared<w_is>, word<w_is>, design_name, word<w_on>, controller_name, ending>, opt<givens>> {};
struct prop_of_parts : seq<head<declared<w_on>, word<w_on>, controller_name, opening>, parts> {};
struct prop : seq<word<w_prop>, sor<seq<at<any_word, word<w_is>>, prop_of_design>, prop_of_parts>> {};
namespace wrong {
struct wordless_prop : seq<at<any_name, word<w_on>>, prop_of_parts> {};
}  // namespace wrong

struct way : seq<cond, must<word<arrow_>>, must<prop_name>, star<word<arrow_>, must<prop_name>>> {};
struct chain : seq<word<w_chain>, head<opening>, block<way>> {};

struct never : if_must<word<w_never>, cond> {};
struct can_reach : if_must<word<w_can>, word<w_always>, word<w_reach>, cond> {};
struct not_before
    : seq<at<word<w_finish>, word<w_not>>, word<w_finish>, word<w_not>, must<word<w_before>>, must<time>> {};
struct then_within : seq<cond, must<word<w_then>>, must<cond>, must<word<w_within>>, must<time>> {};
struct claim : sor<never, can_reach, not_before, then_within> {};
struct promise : if_must<word<w_promise>, text, word<colon_>, claim> {};

// ---- rehearsals ----

struct expect : if_must<word<w_expect>, list<cond>> {};
struct place_tag : seq<at<word<w_tag>, text>, word<w_tag>, text> {};
struct place_thing : seq<opt<word<number>, must<word<times_>>>, thing_name> {};
struct placed : sor<place_tag, place_thing> {};
struct place_deed : if_must<word<w_place>, placed, word<w_on>, device_name> {};
struct take_deed : if_must<word<w_take>, placed, word<w_off>, device_name> {};
struct load : if_must<word<w_load>, quantity, word<w_on>, scale_name> {};
struct press : seq<word<w_press>, must<button_name>, opt<for_time>> {};
struct set_word : sor<word<w_on, w_off>, name> {};
struct set_input : if_must<word<w_set>, device_name, set_word> {};
struct turn : if_must<word<w_turn>, gauge_name, word<w_to>, quantity> {};
struct type : if_must<word<w_type>, text, word<w_on>, keypad_name> {};
struct lose : if_must<word<w_lose>, device_name> {};
struct restore : if_must<word<w_restore>, device_name> {};
struct restart : if_must<word<w_restart>, controller_name> {};
struct delay : if_must<word<w_delay>, link_name, time> {};
struct shift : if_must<word<w_shift>, controller_name, word<w_by>, time> {};
struct override_prop : if_must<word<w_override>, prop_name> {};
struct operator_act : sor<word<w_start, w_end, w_reset>, override_prop> {};
struct operator_deed : if_must<word<w_operator>, operator_act> {};
struct deed : sor<expect, place_deed, take_deed, load, press, set_input, turn, type, lose, restore, restart,
                  delay, shift, operator_deed> {};
struct moment : if_must<word<w_at, w_after, w_within>, time> {};
struct line_form : sor<deed, seq<moment, must<deed>>> {};
struct line : sor<line_form, seq<plus<accept>, must<line_form>>> {};
struct rehearsal : seq<word<w_rehearsal>, head<text, opening>, block<line>> {};

// ---- a file ----

namespace wrong {
struct late_language : language {};
}  // namespace wrong
struct statement_form : sor<use, room, board, controller, link, thing, input, output, clip, cue, let, design,
                            prop, chain, promise, rehearsal, wrong::wordless_prop, wrong::late_language> {};
struct statement : sor<statement_form, seq<plus<accept>, must<statement_form>>> {};
struct file : seq<opt<item<language>>, star<item<statement>>, tao::pegtl::eof> {};

}  // namespace lw::grammar
