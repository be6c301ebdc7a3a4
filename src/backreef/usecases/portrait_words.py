"""Words for the short tokens that entries of the catalogue carry."""

from __future__ import annotations

TAKES = {
    "reliable": "reliably",
    "usual": "as a rule",
    "sometimes": "sometimes",
    "rarely": "rarely",
    "no": "not at all",
    "unknown": "(not known)",
}
FOOD_CLASSES = {
    "dry": "dry food",
    "frozen": "frozen food",
    "algae": "seaweed",
    "live": "live food",
    "pods": "pods of the tank",
}
REPLACES = {
    "none": "Nothing that grows in a tank replaces its meals",
    "partly": "What grows in the tank replaces a part of its meals",
    "mostly": "What grows in the tank replaces most of its meals",
    "fully": "What grows in the tank, or light, is all its food",
}
CLEANS = {
    "film": "film algae",
    "turf": "turf algae",
    "hair": "hair algae",
    "macro": "leafy algae",
    "bubble": "bubble algae",
    "bryopsis": "feather algae",
    "coralline": "pink crust",
    "diatom": "diatoms",
    "cyano": "red slime",
    "leftover": "leftovers",
    "detritus": "detritus",
    "sand_detritus": "detritus in the sand",
    "sand_film": "film on the sand",
    "carcass": "dead animals",
    "aiptasia": "pest anemones",
    "pyramidellid": "snails that suck on clams",
    "bristleworm": "bristleworms",
    "flatworm": "flatworms",
    "nudibranch": "coral-eating slugs",
    "ectoparasite": "parasites of fish",
    "vermetid": "worm snails",
    "asterina": "small stars",
    "water_particles": "particles in the water",
    "water_N": "nitrogen in the water",
    "water_P": "phosphorus in the water",
}
STRENGTHS = {3: "clears", 2: "keeps down", 1: "helps against"}
FEEDER_ALONE = {
    "yes": "a feeder alone can feed it",
    "no": "a feeder alone cannot feed it",
    "sometimes": "a feeder alone feeds it under conditions",
}
STAGES = {
    "first": "among the first",
    "early": "early",
    "middle": "in the middle of the order",
    "late": "late",
    "last": "last of all",
}
JUMPS = {
    "high": "It jumps: the tank is covered",
    "low": "It seldom jumps",
    "climbs": "It climbs out: the tank is closed",
    "no": "",
}
RIGHTS = {
    "yes": "A fallen one turns over by itself",
    "partly": "A fallen one does not always turn over by itself",
    "no": "A fallen one cannot turn over: turn it back",
    "na": "",
}
SAFE = {
    "safe_lps": "stony corals with large polyps",
    "safe_sps": "stony corals with small polyps",
    "safe_soft": "soft corals",
    "safe_clams": "clams",
    "safe_shrimps": "shrimps",
    "safe_snails": "snails",
    "safe_worms": "worms",
    "safe_small_fish": "small fish",
}
RISKS = {"unsafe": "Do not keep it with", "risk": "A risk for", "mostly": "Mostly leaves alone"}
AGGRESSION = {
    "none": "Peaceful",
    "low": "Mostly peaceful",
    "medium": "Quarrelsome at times",
    "high": "Quarrelsome",
    "very_high": "Attacks whatever it can reach",
    "stings": "Stings what it touches",
}
HARDINESS = {
    "hardy": "hardy",
    "medium": "of middling hardiness",
    "delicate": "delicate",
    "expert": "for experts only",
}
LOW_UPKEEP = {
    "yes": "Fits a tank of little work",
    "conditional": "Fits a tank of little work under conditions",
    "no": "Does not fit a tank of little work",
    "never": "Leave it to specialists, or in the sea",
}
BRED = {
    "common": "Farm-bred animals are common: ask for them.",
    "some": "Farm-bred animals can be had.",
    "rare": "Farm-bred animals are rare.",
    "no": "Taken from the sea.",
}
POOLS = {
    "particles_in_water": "drifting in the water",
    "food_on_bottom": "on the bottom",
    "seaweed_sheet": "on a clip",
    "suspended_matter": "as fine matter in the water",
    "pods": "alive among the rock",
}
COLD = {
    "none": "needs no cold",
    "fridge": "kept in the refrigerator",
    "freezer": "kept in the freezer",
    "culture": "kept alive in a culture",
}
FEEDER_OK = {
    "yes": "Goes through a feeder",
    "no": "Does not go through a feeder",
    "sometimes": "Goes through some feeders",
}
SITTER = {
    "yes": "A sitter can do it",
    "no": "Not for a sitter",
    "rarely": "Seldom for a sitter",
}
SKILLS = {
    0: "Anyone can do it",
    1: "Anyone can do it who was shown once",
    2: "It takes some practice",
    3: "It takes an expert",
}
PAUSE = {
    "yes": "Works with a feeding pause of the pumps",
    "by_clock": "Works with a feeding pause of the pumps if both go by the same clock",
    "no": "Does not work with a feeding pause of the pumps",
    "na": "",
}
