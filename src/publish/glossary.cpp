#include "subcrop/publish/glossary.hpp"

#include <array>

namespace subcrop::publish {

std::span<const Term> glossary() {
    static constexpr std::array terms{
        Term{"±", "Half-width of the 90 % interval, everywhere. A standard error is called one."},
        Term{"90 % zone", "The strip of land that holds a contact with 90 % probability."},
        Term{"as drawn", "As in your draft map."},
        Term{"block", "Neighbouring stops that are hidden together in cross-validation."},
        Term{"cluster", "Neighbouring stops that support the same unit against the draft."},
        Term{"conflict",
             "A stop where the draft is probably wrong. A share of false flags is accepted (false_discovery_rate)."},
        Term{"contact", "The line where two map units meet."},
        Term{"creep",
             "Slow movement of soil downslope by metres. Part of a stop's soil may come from the unit upslope."},
        Term{"disputed area", "An area where a cluster supports another unit. Perhaps an unmapped body."},
        Term{"draft", "Your geologic map before this run."},
        Term{"evidence", "What one kind of note says for or against a unit, such as colour or texture."},
        Term{"fitted unit", "The most probable unit at a stop, from soil, draft and observed bedrock."},
        Term{"hidden", "Not shown to the program, so that it can be tested (cross-validation)."},
        Term{"log loss", "Mean of -ln(probability given to the right unit). 0 is perfect; lower is better."},
        Term{"misplaced", "The drawn contact lies outside its 90 % zone and should move."},
        Term{"next stop", "A place where one more stop is expected to correct most of the map."},
        Term{"observed bedrock", "Bedrock seen in place at a stop (column unit_seen)."},
        Term{"odds", "How many times more probable the notes are over one unit than over another."},
        Term{"revised map", "The draft with contacts moved and areas redrawn (layer revised_units)."},
        Term{"signature", "How the soil over a unit looks: a probability for each kind of note."},
        Term{"stop", "A place where you dug or looked, with its notes."},
        Term{"subcrop", "The bedrock directly beneath the soil and loose cover."},
        Term{"transported soil",
             "Soil that water, ice, wind or a slide brought, such as alluvium. It says little about the bedrock. Creep "
             "is another thing."},
        Term{"verdict", "What a stop says about the draft: agrees, conflicts, undecided and so on."},
    };
    return terms;
}

}  // namespace subcrop::publish
