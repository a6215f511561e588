"""Both sides of every limit, typed from the sheet's tables: what just keeps a rule and what just breaks it.

One line a limit: rule | fact | keeps | breaks | severity | other facts. Numbers are typed, not read from the law.
"""

import ast
from datetime import date
from decimal import Decimal

TODAY = date(2026, 11, 25)

IDENTITY_US = """
us.sweet.liquor | liquor_pct | 15 | 14.9 | block
us.sweet.milk | milk_solids_sweet_pct | 11.9 | 12 | block
us.bittersweet.liquor | liquor_pct | 35 | 34.9 | block
us.bittersweet.milk | milk_solids_sweet_pct | 11.9 | 12 | block
us.semisweet.liquor | liquor_pct | 35 | 34.9 | block
us.semisweet.milk | milk_solids_sweet_pct | 11.9 | 12 | block
us.white.cacao_fat | cacao_fat_pct | 20 | 19.9 | block
us.white.liquor | liquor_pct | 0 | 0.1 | block
us.white.milk_solids | milk_solids_white_pct | 14 | 13.9 | block
us.white.milk_fat | milk_fat_white_pct | 3.5 | 3.4 | block
us.white.sweetener | sweetener_pct | 55 | 55.1 | block
us.white.colour | colour_pct | 0 | 0.1 | block
us.white.emulsifier | emulsifier_pct | 1.5 | 1.51 | block
us.white.whey | whey_pct | 5 | 5.1 | block
us.milk.liquor | liquor_pct | 10 | 9.9 | block
us.milk.milk_fat | milk_fat_milk_pct | 3.39 | 3.38 | block
us.milk.milk_solids | milk_solids_milk_pct | 12 | 11.9 | block
us.milk.dairy | unlisted_dairy_milk_pct | 0 | 0.1 | block
us.buttermilk.liquor | liquor_pct | 10 | 9.9 | block
us.buttermilk.milk_fat | milk_fat_all_pct | 3.38 | 3.39 | block
us.buttermilk.milk_solids | milk_solids_buttermilk_pct | 12 | 11.9 | block
us.buttermilk.dairy | milk_solids_all_pct | 12 | 12.1 | block | milk_solids_buttermilk_pct=12
us.skim_milk.liquor | liquor_pct | 10 | 9.9 | block
us.skim_milk.milk_fat | milk_fat_all_pct | 3.38 | 3.39 | block
us.skim_milk.milk_solids | milk_solids_skim_pct | 12 | 11.9 | block
us.skim_milk.dairy | milk_solids_all_pct | 12 | 12.1 | block | milk_solids_skim_pct=12
us.mixed_dairy.liquor | liquor_pct | 10 | 9.9 | block
us.mixed_dairy.milk_solids | milk_solids_sweet_pct | 12 | 11.9 | block
us.mixed_dairy.shares | smallest_dairy | 3 | 2.95 | block | dairy_kinds=2; largest_dairy=9
us.mixed_dairy.shares | dairy_kinds | 2 | 1 | block | smallest_dairy=9; largest_dairy=9
us.mixed_dairy.shares | dairy_kinds | 2.05 | 1.95 | block | smallest_dairy=9; largest_dairy=9
us.sweet_coating.liquor | liquor_pct | 15 | 14.9 | block
us.sweet_coating.milk | milk_solids_sweet_pct | 11.9 | 12 | block
us.sweet_coating.fat | veg_fat_pct | 0.1 | 0 | block
us.milk_coating.liquor | liquor_pct | 10 | 9.9 | block
us.milk_coating.milk_solids | milk_solids_milk_pct | 12 | 11.9 | block
us.milk_coating.milk_fat | milk_fat_milk_pct | 3.39 | 3.38 | block
us.milk_coating.nonfat | milk_snf_milk_pct | 12 | 11.9 | warn | milk_solids_milk_pct=16
us.milk_coating.nonfat | milk_solids_milk_pct | 11.9 | 12 | warn | milk_snf_milk_pct=9
us.milk_coating.fat | veg_fat_pct | 0.1 | 0 | block
us.cocoa_coating.solids | cocoa_nf_dry_pct | 6.8 | 6.7 | block
us.cocoa_coating.fat | veg_fat_pct | 0.1 | 0 | block
us.any.emulsifier | emulsifier_pct | 1 | 1.01 | block
us.any.colour | colour_pct | 0 | 0.1 | block
us.any.vegetable_fat | veg_fat_pct | 0 | 0.1 | block
us.any.sweetener | nonnutritive_pct | 0 | 0.1 | block
us.any.liquor_pool | liquor_fat_pct | 50 | 49.9 | block | liquor_g=10
us.any.liquor_pool | liquor_fat_pct | 60 | 60.1 | block | liquor_g=10
us.any.liquor_pool | liquor_g | 0 | 0.1 | block | liquor_fat_pct=40
us.any.powder | cocoa_powder_pct | 0 | 0.1 | block
us.any.foreign | foreign_pct | 0 | 0.1 | block
us.nibs.shell | shell_pct | 1.75 | 1.76 | block
us.nibs.alkali | alkali_k2co3_per_100 | 3 | 3.1 | block
us.nibs.phosphoric | phosphoric_p2o5_per_100 | 0.5 | 0.51 | block
us.nibs.acids | citric_tartaric_per_100 | 1 | 1.01 | block
us.liquor.fat_low | cacao_fat_pct | 50 | 49.9 | block
us.liquor.fat_high | cacao_fat_pct | 60 | 60.1 | block
us.breakfast_cocoa.fat | cacao_fat_pct | 22 | 21.9 | block
us.cocoa.low | cacao_fat_pct | 10 | 9.9 | block
us.cocoa.high | cacao_fat_pct | 21.9 | 22 | block
us.lowfat_cocoa.fat | cacao_fat_pct | 9.9 | 10 | block
us.dss_cocoa.additive | dss_pct | 0.4 | 0.41 | block
"""

# Directive 2000/36/EC Annex I and, with the same figures, Schedule 1 of SI 2003/1659; {j} is eu or uk.
IDENTITY_UNION = """
{j}.chocolate.tdcs_min | tdcs_pct | 35 | 34.9 | block
{j}.chocolate.cacao_fat_min | cacao_fat_pct | 18 | 17.9 | block
{j}.chocolate.dnfc_min | dnfc_pct | 14 | 13.9 | block
{j}.vermicelli.tdcs_min | tdcs_pct | 32 | 31.9 | block
{j}.vermicelli.cacao_fat_min | cacao_fat_pct | 12 | 11.9 | block
{j}.vermicelli.dnfc_min | dnfc_pct | 14 | 13.9 | block
{j}.couverture.tdcs_min | tdcs_pct | 35 | 34.9 | block
{j}.couverture.cacao_fat_min | cacao_fat_pct | 31 | 30.9 | block
{j}.couverture.dnfc_min | dnfc_pct | 2.5 | 2.4 | block
{j}.gianduja.tdcs_base_min | tdcs_base_pct | 32 | 31.9 | block
{j}.gianduja.dnfc_base_min | dnfc_base_pct | 8 | 7.9 | block
{j}.gianduja.dms_base_max | dms_base_pct | 5 | 5.1 | block
{j}.gianduja.hazelnut_fine_min | hazelnut_fine_pct | 20 | 19.9 | block
{j}.gianduja.hazelnut_fine_max | hazelnut_fine_pct | 40 | 40.1 | block
{j}.gianduja.nuts_max | nuts_pct | 60 | 60.1 | block
{j}.milk.tdcs_min | tdcs_pct | 25 | 24.9 | block
{j}.milk.dnfc_min | dnfc_pct | 2.5 | 2.4 | block
{j}.milk.dms_min | dms_pct | 14 | 13.9 | block
{j}.milk.milk_fat_min | milk_fat_pct | 3.5 | 3.4 | block
{j}.milk.total_fat_min | total_fat_pct | 25 | 24.9 | block
{j}.milk_vermicelli.tdcs_min | tdcs_pct | 20 | 19.9 | block
{j}.milk_vermicelli.dms_min | dms_pct | 12 | 11.9 | block
{j}.milk_vermicelli.total_fat_min | total_fat_pct | 12 | 11.9 | block
{j}.milk_couverture.tdcs_min | tdcs_pct | 25 | 24.9 | block
{j}.milk_couverture.dnfc_min | dnfc_pct | 2.5 | 2.4 | block
{j}.milk_couverture.dms_min | dms_pct | 14 | 13.9 | block
{j}.milk_couverture.milk_fat_min | milk_fat_pct | 3.5 | 3.4 | block
{j}.milk_couverture.total_fat_min | total_fat_pct | 31 | 30.9 | block
{j}.milk_gianduja.tdcs_base_min | tdcs_base_pct | 25 | 24.9 | block
{j}.milk_gianduja.dnfc_base_min | dnfc_base_pct | 2.5 | 2.4 | block
{j}.milk_gianduja.dms_base_min | dms_base_pct | 10 | 9.9 | block
{j}.milk_gianduja.milk_fat_base_min | milk_fat_base_pct | 3.5 | 3.4 | block
{j}.milk_gianduja.total_fat_base_min | total_fat_base_pct | 25 | 24.9 | block
{j}.milk_gianduja.hazelnut_fine_min | hazelnut_fine_pct | 15 | 14.9 | block
{j}.milk_gianduja.hazelnut_fine_max | hazelnut_fine_pct | 40 | 40.1 | block
{j}.milk_gianduja.nuts_max | nuts_pct | 60 | 60.1 | block
{j}.cream.tdcs_min | tdcs_pct | 25 | 24.9 | block
{j}.cream.dnfc_min | dnfc_pct | 2.5 | 2.4 | block
{j}.cream.dms_min | dms_pct | 14 | 13.9 | block
{j}.cream.milk_fat_min | milk_fat_pct | 5.5 | 5.4 | block
{j}.cream.total_fat_min | total_fat_pct | 25 | 24.9 | block
{j}.skimmed_milk.tdcs_min | tdcs_pct | 25 | 24.9 | block
{j}.skimmed_milk.dnfc_min | dnfc_pct | 2.5 | 2.4 | block
{j}.skimmed_milk.dms_min | dms_pct | 14 | 13.9 | block
{j}.skimmed_milk.milk_fat_max | milk_fat_pct | 1 | 1.01 | block
{j}.skimmed_milk.total_fat_min | total_fat_pct | 25 | 24.9 | block
{j}.family_milk.tdcs_min | tdcs_pct | 20 | 19.9 | block
{j}.family_milk.dnfc_min | dnfc_pct | 2.5 | 2.4 | block
{j}.family_milk.dms_min | dms_pct | 20 | 19.9 | block
{j}.family_milk.milk_fat_min | milk_fat_pct | 5 | 4.9 | block
{j}.family_milk.total_fat_min | total_fat_pct | 25 | 24.9 | block
{j}.white.cacao_fat_min | cacao_fat_pct | 20 | 19.9 | block
{j}.white.dms_min | dms_pct | 14 | 13.9 | block
{j}.white.milk_fat_min | milk_fat_pct | 3.5 | 3.4 | block
{j}.white.no_cocoa | dnfc_pct | 0 | 0.1 | block
{j}.a_la_taza.tdcs_min | tdcs_pct | 35 | 34.9 | block
{j}.a_la_taza.cacao_fat_min | cacao_fat_pct | 18 | 17.9 | block
{j}.a_la_taza.dnfc_min | dnfc_pct | 14 | 13.9 | block
{j}.a_la_taza.starch_flour_max | starch_flour_pct | 8 | 8.1 | block
{j}.familiar_a_la_taza.tdcs_min | tdcs_pct | 30 | 29.9 | block
{j}.familiar_a_la_taza.cacao_fat_min | cacao_fat_pct | 18 | 17.9 | block
{j}.familiar_a_la_taza.dnfc_min | dnfc_pct | 12 | 11.9 | block
{j}.familiar_a_la_taza.starch_flour_max | starch_flour_pct | 18 | 18.1 | block
{j}.filled.outer_chocolate_min | outer_chocolate_pct | 25 | 24.9 | block
{j}.praline.chocolate_of_piece_min | chocolate_of_piece_pct | 25 | 24.9 | block
{j}.cocoa_butter.ffa_oleic_max | ffa_oleic_pct | 1.75 | 1.76 | block
{j}.cocoa_butter.unsaponifiable_max | unsaponifiable_pct | 0.5 | 0.51 | block
{j}.press_cocoa_butter.ffa_oleic_max | ffa_oleic_pct | 1.75 | 1.76 | block
{j}.press_cocoa_butter.unsaponifiable_max | unsaponifiable_pct | 0.35 | 0.36 | block
{j}.cocoa_powder.cacao_fat_dry_min | cacao_fat_dry_pct | 20 | 19.9 | block
{j}.cocoa_powder.water_max | water_pct | 9 | 9.1 | block
{j}.fat_reduced_cocoa.cacao_fat_dry_max | cacao_fat_dry_pct | 19.9 | 20 | block
{j}.fat_reduced_cocoa.water_max | water_pct | 9 | 9.1 | block
{j}.powdered_chocolate.cocoa_powder_min | cocoa_powder_pct | 32 | 31.9 | block
{j}.drinking_chocolate.cocoa_powder_min | cocoa_powder_pct | 25 | 24.9 | block
{j}.quality_chocolate.tdcs_min | tdcs_pct | 43 | 42.9 | block
{j}.quality_chocolate.cacao_fat_min | cacao_fat_pct | 26 | 25.9 | block
{j}.quality_milk.tdcs_min | tdcs_pct | 30 | 29.9 | block
{j}.quality_milk.dms_min | dms_pct | 18 | 17.9 | block
{j}.quality_milk.milk_fat_min | milk_fat_pct | 4.5 | 4.4 | block
{j}.quality_couverture.dnfc_min | dnfc_pct | 16 | 15.9 | block
{j}.any.other_edible | other_edible_pct | 40 | 40.1 | block
{j}.any.animal_fat | animal_fat_pct | 0 | 0.1 | block
{j}.any.starch | starch_flour_pct | 0 | 0.1 | block
{j}.any.mimic | flavour_mimics | False | True | block
{j}.any.veg_fat_share | veg_fat_pct | 5 | 5.1 | block
{j}.any.veg_fat_kind | veg_fat_foreign_pct | 0 | 0.1 | block
{j}.any.filling_bakery | filling_is_bakery | False | True | block
{j}.any.colour | colour_pct | 0 | 0.1 | block
"""

IDENTITY_ELSEWHERE = """
uk.milk_20.tdcs_min | tdcs_pct | 20 | 19.9 | block
uk.milk_20.dnfc_min | dnfc_pct | 2.5 | 2.4 | block
uk.milk_20.dms_min | dms_pct | 20 | 19.9 | block
uk.milk_20.milk_fat_min | milk_fat_pct | 5 | 4.9 | block
uk.milk_20.total_fat_min | total_fat_pct | 25 | 24.9 | block
codex.chocolate.tdcs_min | tdcs_dry_pct | 35 | 34.9 | info
codex.chocolate.cacao_fat_min | cacao_fat_dry_pct | 18 | 17.9 | info
codex.chocolate.dnfc_min | dnfc_dry_pct | 14 | 13.9 | info
codex.sweet.tdcs_min | tdcs_dry_pct | 30 | 29.9 | info
codex.sweet.cacao_fat_min | cacao_fat_dry_pct | 18 | 17.9 | info
codex.sweet.dnfc_min | dnfc_dry_pct | 12 | 11.9 | info
codex.couverture.tdcs_min | tdcs_dry_pct | 35 | 34.9 | info
codex.couverture.cacao_fat_min | cacao_fat_dry_pct | 31 | 30.9 | info
codex.couverture.dnfc_min | dnfc_dry_pct | 2.5 | 2.4 | info
codex.milk.tdcs_min | tdcs_dry_pct | 25 | 24.9 | info
codex.milk.dnfc_min | dnfc_dry_pct | 2.5 | 2.4 | info
codex.milk.dms_min | dms_dry_pct | 12 | 11.9 | info
codex.milk.milk_fat_min | milk_fat_dry_pct | 2.5 | 2.4 | info
codex.family_milk.tdcs_min | tdcs_dry_pct | 20 | 19.9 | info
codex.family_milk.dnfc_min | dnfc_dry_pct | 2.5 | 2.4 | info
codex.family_milk.dms_min | dms_dry_pct | 20 | 19.9 | info
codex.family_milk.milk_fat_min | milk_fat_dry_pct | 5 | 4.9 | info
codex.milk_couverture.tdcs_min | tdcs_dry_pct | 25 | 24.9 | info
codex.milk_couverture.dnfc_min | dnfc_dry_pct | 2.5 | 2.4 | info
codex.milk_couverture.dms_min | dms_dry_pct | 14 | 13.9 | info
codex.milk_couverture.milk_fat_min | milk_fat_dry_pct | 3.5 | 3.4 | info
codex.milk_couverture.total_fat_min | total_fat_dry_pct | 31 | 30.9 | info
codex.white.cacao_fat_min | cacao_fat_dry_pct | 20 | 19.9 | info
codex.white.dms_min | dms_dry_pct | 14 | 13.9 | info
codex.white.milk_fat_min | milk_fat_dry_pct | 2.5 | 2.4 | info
codex.gianduja.tdcs_base_min | tdcs_base_pct | 32 | 31.9 | info
codex.gianduja.cacao_fat_base_min | cacao_fat_base_pct | 18 | 17.9 | info
codex.gianduja.dnfc_base_min | dnfc_base_pct | 8 | 7.9 | info
codex.gianduja.hazelnut_fine_min | hazelnut_fine_pct | 20 | 19.9 | info
codex.gianduja.hazelnut_fine_max | hazelnut_fine_pct | 40 | 40.1 | info
codex.milk_gianduja.tdcs_base_min | tdcs_base_pct | 25 | 24.9 | info
codex.milk_gianduja.dnfc_base_min | dnfc_base_pct | 2.5 | 2.4 | info
codex.milk_gianduja.dms_base_min | dms_base_pct | 10 | 9.9 | info
codex.milk_gianduja.milk_fat_base_min | milk_fat_base_pct | 3.5 | 3.4 | info
codex.milk_gianduja.hazelnut_fine_min | hazelnut_fine_pct | 15 | 14.9 | info
codex.milk_gianduja.hazelnut_fine_max | hazelnut_fine_pct | 40 | 40.1 | info
codex.filled.outer_chocolate_min | outer_chocolate_pct | 25 | 24.9 | info
codex.any.other_edible | other_edible_pct | 40 | 40.1 | info
codex.any.veg_fat | veg_fat_pct | 5 | 5.1 | info
ca.chocolate.tdcs_min | tdcs_dry_pct | 35 | 34.9 | info
ca.chocolate.cacao_fat_min | cacao_fat_dry_pct | 18 | 17.9 | info
ca.chocolate.dnfc_min | dnfc_dry_pct | 14 | 13.9 | info
ca.sweet.tdcs_min | tdcs_dry_pct | 30 | 29.9 | info
ca.sweet.cacao_fat_min | cacao_fat_dry_pct | 18 | 17.9 | info
ca.sweet.dnfc_min | dnfc_dry_pct | 12 | 11.9 | info
ca.milk.tdcs_min | tdcs_dry_pct | 25 | 24.9 | info
ca.milk.cacao_fat_min | cacao_fat_dry_pct | 15 | 14.9 | info
ca.milk.dnfc_min | dnfc_dry_pct | 2.5 | 2.4 | info
ca.milk.dms_min | dms_dry_pct | 12 | 11.9 | info
ca.milk.milk_fat_min | milk_fat_dry_pct | 3.39 | 3.38 | info
ca.white.cacao_fat_min | cacao_fat_dry_pct | 20 | 19.9 | info
ca.white.dms_min | dms_dry_pct | 14 | 13.9 | info
ca.white.milk_fat_min | milk_fat_dry_pct | 3.5 | 3.4 | info
ca.any.veg_fat | veg_fat_pct | 0 | 0.1 | info
"""

# What the Union and the UK ask alike.
BOTH = """
{j}.exempt.small_pack | largest_surface_cm2 | 25 | 24.9 | info | claim=False
{j}.exempt.small_pack | claim | True | False | info | largest_surface_cm2=20
{j}.exempt.small_maker | local_direct | False | True | info | claim=False
{j}.exempt.small_maker | claim | True | False | info | local_direct=True
{j}.exempt.direct | sale | 'prepacked' | 'direct' | info | claim=False
{j}.exempt.direct | sale | 'prepacked' | 'loose' | info | claim=False
{j}.exempt.direct | claim | True | False | info | sale='loose'
{j}.nutrition.claim | panel | True | False | block | claim=True; exempt=True
{j}.nutrition.claim | claim | False | True | block | panel=False; exempt=True
{j}.nutrition.due | exempt | True | False | block | claim=False; panel=False
{j}.nutrition.due | panel | True | False | block | claim=False; exempt=False
{j}.nutrition.due | claim | True | False | block | panel=False; exempt=False
{j}.net.rule_1 | mean_g | 100 | 99.9 | block | nominal_g=100
{j}.net.rule_2 | below_tne_pct | 2.5 | 2.51 | block
{j}.net.rule_3 | below_two_tne | 0 | 1 | block
{j}.net.rule_3 | below_two_tne | 0 | 0.1 | block
{j}.net.mean_test | mean_g | 99.5 | 99.4 | block | mean_limit_g=99.5
{j}.net.small | net_g | 5 | 4.9 | info
{j}.net.missing | net_known | True | False | block | sale='prepacked'
{j}.net.missing | net_known | True | False | block | sale='home_kitchen'
{j}.net.missing | sale | 'loose' | 'prepacked' | block | net_known=False
{j}.date.missing | date_known | True | False | block | sale='prepacked'
{j}.date.missing | date_known | True | False | block | sale='home_kitchen'
{j}.date.missing | sale | 'direct' | 'prepacked' | block | date_known=False
{j}.date.form | printed_form | 'year' | 'day_month' | block | date_known=True; lawful_forms=('year', 'month_year')
{j}.date.form | date_known | False | True | block | printed_form='year'; lawful_forms=('month_year',)
{j}.date.basis | keeps_because | True | False | block | moist_filling=True
{j}.date.basis | moist_filling | False | True | block | keeps_because=False
{j}.lot.missing | lot_known | True | False | block | lot_due=True
{j}.lot.missing | lot_due | False | True | block | lot_known=False
{j}.lot.prefix | lot_distinct | True | False | block | lot_known=True
{j}.lot.prefix | lot_known | False | True | block | lot_distinct=False
{j}.allergen.not_emphasised | not_emphasised | '' | 'milk' | block
{j}.allergen.repeated | contains_box | False | True | block | has_list=True
{j}.allergen.repeated | has_list | False | True | block | contains_box=True
{j}.allergen.no_list | contains_box | True | False | block | has_list=False; allergen_count=1
{j}.allergen.no_list | allergen_count | 0 | 0.3 | block | has_list=False; contains_box=False
{j}.allergen.no_list | has_list | True | False | block | allergen_count=1; contains_box=False
{j}.colour.six | warned | True | False | block | southern=True
{j}.colour.six | southern | False | True | block | warned=False
{j}.colour.sum | group_three_mg_kg | 500 | 501 | block
{j}.dust.no_list | has_list | True | False | block
{j}.label.operator | operator | 'Loft' | '' | block | address='Quay 2'; short=False; sale='prepacked'
{j}.label.operator | address | 'Quay 2' | '' | block | operator='Loft'; short=False; sale='home_kitchen'
{j}.label.operator | short | True | False | block | operator=''; address=''; sale='prepacked'
{j}.label.operator | sale | 'direct' | 'prepacked' | block | operator=''; address=''; short=False
{j}.label.storage | storage | 'cool' | '' | warn | short=False; sale='prepacked'
{j}.label.storage | storage | 'cool' | '' | warn | short=False; sale='home_kitchen'
{j}.label.storage | short | True | False | warn | storage=''; sale='prepacked'
{j}.label.storage | sale | 'loose' | 'home_kitchen' | warn | storage=''; short=False
{j}.label.national | sale | 'prepacked' | 'direct' | info
{j}.label.national | sale | 'home_kitchen' | 'loose' | info
{j}.name.reserved | wrongly_said | '' | 'white chocolate' | block
{j}.name.unsaid | unsaid | '' | 'milk chocolate' | warn
{j}.name.cocoa_pct | cocoa_claim_pct | 69 | 70 | block | cocoa_claimed=True; tdcs_pct=69.3
{j}.name.cocoa_pct | cocoa_claimed | False | True | block | cocoa_claim_pct=70; tdcs_pct=69.3
{j}.name.quality | quality_lacks | '' | 'too little cocoa' | block | quality_said='fine'
{j}.list.compound | closed_compounds | '' | 'caramel' | block
{j}.label.origin | primary_origin | 'A' | 'B' | block | origin='A'; origin_said=False
{j}.label.origin | origin_said | True | False | block | origin='A'; primary_origin='B'
{j}.label.origin | origin | '' | 'A' | block | primary_origin='B'; origin_said=False
{j}.label.origin | primary_origin | '' | 'B' | block | origin='A'; origin_said=False
{j}.label.language | language | 'de' | 'fr' | block | languages=('de',)
{j}.label.untranslated | untranslated | '' | 'salt' | block
{j}.label.short | largest_surface_cm2 | 10 | 9.9 | info | surface_known=True
{j}.label.short | surface_known | False | True | info | largest_surface_cm2=5
{j}.label.field_of_vision | same_field | True | False | block
{j}.label.x_height | x_height_mm | 1.2 | 1.19 | block | least_x_height_mm=1.2
{j}.label.net_height | net_height_mm | 3 | 2.99 | block | least_net_height_mm=3; net_shown=True
{j}.label.net_height | net_shown | False | True | block | net_height_mm=2; least_net_height_mm=3
{j}.list.additive_limit | over_limit | '' | 'E 476' | block
{j}.list.no_number | unnamed_additives | '' | 'gum' | block
{j}.list.vegetable_fat | veg_fat_pct | 0 | 0.1 | block | veg_fat_said=False
{j}.list.vegetable_fat | veg_fat_said | True | False | block | veg_fat_pct=2
{j}.list.cocoa_solids | cocoa_solids_said | True | False | block | cocoa_solids_due=True; cocoa_solids_printed=60; tdcs_pct=70
{j}.list.cocoa_solids | cocoa_solids_due | False | True | block | cocoa_solids_said=False
{j}.list.cocoa_solids_high | cocoa_solids_printed | 69 | 70 | block | cocoa_solids_said=True; tdcs_pct=69.3
{j}.list.cocoa_solids_high | cocoa_solids_said | False | True | block | cocoa_solids_printed=70; tdcs_pct=69
{j}.list.sweetener | sweetener_said | True | False | block | sweetener=True
{j}.list.sweetener | sweetener | False | True | block | sweetener_said=False
{j}.hazard.listeria | filling_aw | 0.92 | 0.93 | block | filling_ph=6; keeps_days=30; has_filling=True; filling_water='moist'
{j}.hazard.listeria | filling_ph | 4.4 | 4.5 | block | filling_aw=0.95; keeps_days=30; has_filling=True; filling_water='moist'
{j}.hazard.listeria | filling_ph | 5 | 5.1 | block | filling_aw=0.93; keeps_days=30; has_filling=True; filling_water='moist'
{j}.hazard.listeria | filling_aw | 0.94 | 0.95 | block | filling_ph=4.9; keeps_days=30; has_filling=True; filling_water='moist'
{j}.hazard.listeria | keeps_days | 4.9 | 5 | block | filling_ph=6; filling_aw=0.95; has_filling=True; filling_water='moist'
{j}.hazard.listeria | has_filling | False | True | block | filling_ph=6; filling_aw=0.95; keeps_days=30; filling_water='moist'
{j}.hazard.listeria | filling_water | 'dry' | 'moist' | block | filling_ph=6; filling_aw=0.95; keeps_days=30; has_filling=True
{j}.hazard.cadmium | cadmium_mg_kg | 0.8 | 0.81 | block | cadmium_limited=True; cadmium_known=True; cadmium_limit_mg_kg=0.8
{j}.hazard.cadmium | cadmium_known | False | True | block | cadmium_limited=True; cadmium_mg_kg=1; cadmium_limit_mg_kg=0.8
{j}.hazard.cadmium | cadmium_limited | False | True | block | cadmium_known=True; cadmium_mg_kg=1; cadmium_limit_mg_kg=0.8
{j}.hazard.cadmium_unknown | cadmium_known | True | False | info | cadmium_limited=True; cadmium_limit_mg_kg=0.8
{j}.hazard.cadmium_unknown | cadmium_limited | False | True | info | cadmium_known=False; cadmium_limit_mg_kg=0.8
{j}.hazard.meat | has_meat | False | True | warn
{j}.lab.outside | holds | True | False | block | analyte='fat'
{j}.hazard.alcohol | has_alcohol | False | True | warn
{j}.hazard.polyols | polyols_pct | 10 | 10.1 | block | laxative_words=False
{j}.hazard.polyols | laxative_words | True | False | block | polyols_pct=12
"""  # noqa: E501

OTHERS = """
eu.colour.not_listed | listed | True | False | block | pigment='E 999'
eu.colour.not_listed | pigment | 'E 171' | 'E 999' | block | listed=False
eu.colour.not_listed | pigment | 'E 555' | 'E 999' | block | listed=False
uk.colour.not_listed | listed | True | False | block
eu.colour.titanium | pigment | 'E 172' | 'E 171' | block
eu.colour.pearl | pigment | 'E 172' | 'E 555' | block | pearl_on_iron_oxide=False
eu.colour.pearl | pearl_on_iron_oxide | True | False | block | pigment='E 555'
us.colour.not_listed | listed | True | False | block
us.colour.titanium_share | food_pct | 1 | 1.01 | block | pigment='E 171'
us.colour.titanium_share | pigment | 'E 172' | 'E 171' | block | food_pct=2
us.colour.mica_share | food_pct | 1.25 | 1.26 | block | pigment='E 555'
us.colour.mica_share | pigment | 'E 172' | 'E 555' | block | food_pct=2
us.colour.iron_share | food_pct | 0.1 | 0.101 | block | pigment='E 172'
us.colour.iron_share | pigment | 'E 171' | 'E 172' | block | food_pct=2
us.colour.in_standardized | role | 'filling' | 'chocolate' | block | pigment='E 171'; standardized=True
us.colour.in_standardized | standardized | False | True | block | pigment='E 555'; role='chocolate'
us.colour.in_standardized | pigment | 'E 100' | 'E 171' | block | standardized=True; role='chocolate'
us.colour.on_standardized | dusted | False | True | warn | pigment='E 555'; role='decoration'; standardized=True
us.colour.on_standardized | standardized | False | True | warn | pigment='E 171'; role='decoration'; dusted=True
us.colour.on_standardized | role | 'filling' | 'decoration' | warn | pigment='E 171'; standardized=True; dusted=True
us.colour.on_standardized | pigment | 'E 100' | 'E 171' | warn | role='decoration'; standardized=True; dusted=True
us.colour.carmine_name | named_carmine | True | False | block | pigment='E 120'
us.colour.carmine_name | pigment | 'E 100' | 'E 120' | block | named_carmine=False
us.dust.no_list | has_list | True | False | block
us.exempt.small_retailer | sales_usd | 500001 | 500000 | info | claim=False; food_sales_usd=60000
us.exempt.small_retailer | sales_usd | 510000 | 490000 | info | claim=False; food_sales_usd=60000
us.exempt.small_retailer | food_sales_usd | 50001 | 50000 | info | claim=False; sales_usd=600000
us.exempt.small_retailer | food_sales_usd | 51000 | 49000 | info | claim=False; sales_usd=600000
us.exempt.small_retailer | claim | True | False | info | sales_usd=1; food_sales_usd=1
us.exempt.small_package | label_area_in2 | 12 | 11.9 | info | claim=False
us.exempt.small_package | claim | True | False | info | label_area_in2=5
us.exempt.made_and_sold_on_site | sale | 'prepacked' | 'direct' | info | claim=False
us.exempt.made_and_sold_on_site | claim | True | False | info | sale='direct'
us.exempt.made_and_sold_on_site | sale | 'home_kitchen' | 'loose' | info | claim=False
us.name.reserved | wrongly_said | '' | 'white chocolate' | block
us.name.unsaid | unsaid | '' | 'milk chocolate' | warn
us.name.cacao_pct | cocoa_claim_pct | 70 | 71 | block | cocoa_claimed=True; cacao_pct=70
us.name.cacao_pct | cocoa_claimed | False | True | block | cocoa_claim_pct=71; cacao_pct=70
us.name.modified | modified_sweetener_pct | 0 | 0.1 | warn | modified=True
us.name.modified | modified | False | True | warn | modified_sweetener_pct=40
us.lab.outside | holds | True | False | block | analyte='fat'
us.list.compound | closed_compounds | '' | 'caramel' | block
us.label.inner | inner_packs | 0 | 4 | info | inner_sold=False
us.label.inner | inner_packs | 0 | 0.3 | info | inner_sold=False
us.label.inner | inner_sold | True | False | info | inner_packs=4
us.exempt.eaten_at_once | seating | False | True | info | sale='loose'
us.exempt.eaten_at_once | sale | 'direct' | 'loose' | info | seating=True
us.nutrition.claim | panel | True | False | block | claim=True; exempt=True
us.nutrition.claim | claim | False | True | block | panel=False; exempt=True
us.nutrition.due | exempt | True | False | block | claim=False; panel=False
us.nutrition.due | panel | True | False | block | claim=False; exempt=False
us.nutrition.due | claim | True | False | block | panel=False; exempt=False
us.nutrition.notice | notice_filed | True | False | block | panel=False; notice_due=True
us.nutrition.notice | notice_due | False | True | block | panel=False; notice_filed=False
us.nutrition.notice | panel | True | False | block | notice_due=True; notice_filed=False
us.net.mean | mean_error_plus_limit_g | 0 | -0.1 | block
us.net.mav | short_by_mav | 1 | 2 | block | allowed_short=1
us.net.missing | net_known | True | False | block | sale='prepacked'
us.net.missing | sale | 'loose' | 'direct' | block | net_known=False
us.net.wrapped_piece | net_oz | 0.5 | 0.49 | info
us.date.voluntary | date_known | True | False | warn
us.lot.trace | lot_known | True | False | warn
us.date.basis | keeps_because | True | False | block | moist_filling=True
us.date.basis | moist_filling | False | True | block | keeps_because=False
us.allergen.off_list | declared_off_list | '' | 'coconut' | block
us.allergen.incomplete | contains_missing | '' | 'milk' | block
us.allergen.none_found | allergen_count | 1 | 0 | info
us.list.untranslated | untranslated | '' | 'salt' | block
us.list.alkali | alkali_said | True | False | block | alkalised=True
us.list.alkali | alkalised | False | True | block | alkali_said=False
us.label.operator | operator | 'Loft' | '' | block | address='Quay 2'; sale='prepacked'
us.label.operator | address | 'Quay 2' | '' | block | operator='Loft'; sale='direct'
us.label.operator | sale | 'loose' | 'direct' | block | operator=''; address='Quay 2'
us.label.small_type | o_height_in | 0.0625 | 0.0624 | block | least_o_height_in=0.0625
us.label.net_height | net_height_in | 0.125 | 0.124 | block | least_net_height_in=0.125; net_shown=True
us.label.net_height | net_shown | False | True | block | net_height_in=0.1; least_net_height_in=0.125
us.net.placement | net_from_bottom_pct | 30 | 30.1 | block | net_shown=True; panel_in2=15; net_bottom_waived_in2=5; net_bottom_share=30
us.net.placement | panel_in2 | 5 | 5.1 | block | net_shown=True; net_from_bottom_pct=40; net_bottom_waived_in2=5; net_bottom_share=30
us.net.placement | net_shown | False | True | block | net_from_bottom_pct=40; panel_in2=15; net_bottom_waived_in2=5; net_bottom_share=30
us.net.clear | clear_above_in | 0.125 | 0.124 | block | net_shown=True; net_height_in=0.125
us.net.clear | net_shown | False | True | block | clear_above_in=0; net_height_in=0.125
us.label.panel_unknown | panel_known | True | False | block | sale='prepacked'
us.label.panel_unknown | sale | 'loose' | 'prepacked' | block | panel_known=False
uk.label.direct | has_list | True | False | block | sale='direct'
uk.label.direct | sale | 'prepacked' | 'direct' | block | has_list=False
us.hazard.tcs | food_code | 'non_tcs' | 'assess' | block | has_filling=True; filling_water='moist'
us.hazard.tcs | has_filling | False | True | block | food_code='assess'; filling_water='moist'
us.hazard.tcs | filling_water | 'dry' | 'moist' | block | food_code='assess'; has_filling=True
us.hazard.canned_line | filling_aw | 0.85 | 0.86 | warn | has_filling=True; filling_water='moist'
us.hazard.canned_line | has_filling | False | True | warn | filling_aw=0.9; filling_water='moist'
us.hazard.canned_line | filling_water | 'dry' | 'moist' | warn | filling_aw=0.9; has_filling=True
us.hazard.meat | cooked_meat_pct | 1.99 | 2 | block | has_meat=True
us.hazard.meat | has_meat | False | True | block | cooked_meat_pct=3
us.hazard.alcohol | alcohol_pct_vol | 0.5 | 0.51 | block | has_alcohol=True; state_permits=False; alcohol_from_extracts=True
us.hazard.alcohol | state_permits | True | False | block | has_alcohol=True; alcohol_pct_vol=2
us.hazard.alcohol | has_alcohol | False | True | block | state_permits=False; alcohol_pct_vol=2
us.hazard.alcohol_source | alcohol_from_extracts | True | False | block | has_alcohol=True; state_permits=False; alcohol_pct_vol=0.1
us.hazard.alcohol_source | state_permits | True | False | block | has_alcohol=True; alcohol_from_extracts=False; alcohol_pct_vol=0.1
us.hazard.alcohol_source | has_alcohol | False | True | block | state_permits=False; alcohol_from_extracts=False; alcohol_pct_vol=0
uk.hazard.liqueur | alcohol_l_per_kg | 0.2 | 0.201 | block | has_alcohol=True; alcohol_pct_vol_liquor=40; heaviest_piece_g=20
uk.hazard.liqueur | alcohol_pct_vol_liquor | 57 | 57.1 | block | has_alcohol=True; alcohol_l_per_kg=0.1; heaviest_piece_g=20
uk.hazard.liqueur | heaviest_piece_g | 42 | 42.1 | block | has_alcohol=True; alcohol_l_per_kg=0.1; alcohol_pct_vol_liquor=40
uk.hazard.liqueur | has_alcohol | False | True | block | alcohol_l_per_kg=0.3; heaviest_piece_g=20; alcohol_pct_vol_liquor=40
uk.hazard.liqueur_age | has_alcohol | False | True | info
us.hazard.trace_list | nut_butter_uncooked | '' | 'pistachio paste' | info
us.hazard.cottage | sale | 'prepacked' | 'home_kitchen' | warn
common.hazard.honey | has_honey | False | True | block | intended='infants'
common.hazard.honey | intended | 'general' | 'infants' | block | has_honey=True
common.hazard.choking | has_whole_nuts | False | True | info
common.hazard.egg | egg_pasteurised | True | False | block | has_egg=True
common.hazard.egg | has_egg | False | True | block | egg_pasteurised=False
common.hazard.raw_flour | has_raw_flour | False | True | block
gs1.gtin.check | check_digit_ok | True | False | block
gs1.gtin.restricted | restricted | False | True | warn | sold_outside=True
gs1.gtin.restricted | sold_outside | False | True | warn | restricted=True
allergen.unstated | unstated | '' | 'paste' | block
allergen.word | unknown_words | '' | 'nuts in paste' | block
allergen.unsure | unsure | '' | 'wheat in flakes' | block
allergen.changed | new_allergens | '' | 'milk' | block
allergen.unconfirmed | confirmed | True | False | block
allergen.precaution_unassessed | unassessed | '' | 'milk' | block
allergen.precaution_word | unknown_contacts | '' | 'nuts' | block
allergen.precaution_due | above_action | '' | 'milk' | block | precaution_printed=False
allergen.precaution_due | precaution_printed | True | False | block | above_action='milk'
allergen.precaution_no_dose | no_dose | '' | 'soy' | warn
allergen.supplier_traces | supplier_traces | '' | 'milk' | warn
allergen.claim | free_from_claim | False | True | block
claim.vegan | animal | '' | 'milk' | block | vegan_claim=True
claim.vegan | vegan_claim | False | True | block | animal='milk'
claim.vegan_traces | animal_traces | '' | 'milk' | warn | vegan_claim=True
claim.vegan_traces | vegan_claim | False | True | warn | animal_traces='milk'
claim.vegetarian | slaughtered | '' | 'gelatine' | block | vegetarian_claim=True
claim.vegetarian | vegetarian_claim | False | True | block | slaughtered='gelatine'
claim.sugar_free | sugars_pct | 0.5 | 0.51 | block | sugar_free_claim=True
claim.sugar_free | sugar_free_claim | False | True | block | sugars_pct=2
claim.no_added_sugar | sweetened_with | '' | 'honey' | block | no_added_sugar_claim=True
claim.no_added_sugar | no_added_sugar_claim | False | True | block | sweetened_with='honey'
claim.natural_sugars | sugars_pct | 0.5 | 0.51 | warn | no_added_sugar_claim=True; sweetened_with=''
claim.natural_sugars | no_added_sugar_claim | False | True | warn | sugars_pct=4; sweetened_with=''
claim.natural_sugars | sweetened_with | 'honey' | '' | warn | sugars_pct=4; no_added_sugar_claim=True
claim.organic | organic_certificate | True | False | block | organic_claim=True
claim.organic | organic_claim | False | True | block | organic_certificate=False
claim.health | health_claim | False | True | block
claim.nutrition | nutrition_claim | False | True | warn
"""  # noqa: E501


def _value(text):
    value = ast.literal_eval(text)
    return Decimal(text) if isinstance(value, int | float) and not isinstance(value, bool) else value


def _given(text):
    pairs = (part.split("=", 1) for part in text.split(";") if part.strip())
    return {name.strip(): _value(value.strip()) for name, value in pairs}


def _check(line):
    rule, fact, keeps, breaks, severity, *more = (part.strip() for part in line.split("|"))
    given = _given(more[0]) if more else {}

    def both_sides(on):
        law = on(TODAY)
        kept = law.rule(rule).finding({**given, fact: _value(keeps)})
        assert kept is None, (rule, keeps, kept)
        found = law.rule(rule).finding({**given, fact: _value(breaks)})
        assert found is not None, (rule, breaks)
        assert not found.unknown
        assert found.severity == severity
        # where this very fact is not known, the rule says so instead of passing
        if fact not in given:
            lacking = law.rule(rule).finding(given)
            assert lacking is None or lacking.unknown

    return both_sides


def _lines():
    yield from (line for line in IDENTITY_US.splitlines() if line)
    for jurisdiction in ("eu", "uk"):
        for block in (IDENTITY_UNION, BOTH):
            yield from (line.format(j=jurisdiction) for line in block.splitlines() if line)
    for block in (IDENTITY_ELSEWHERE, OTHERS):
        yield from (line for line in block.splitlines() if line)


BOUNDARIES = {f"{n} {line.split(' | ')[0]}": _check(line) for n, line in enumerate(_lines())}
