set(plan_folder ${CMAKE_CURRENT_LIST_DIR})
hearwood_embed(plan plan/printed.h kDeploymentSheetTemplate ${plan_folder}/deployment_sheet.html
               kTrialSheetTemplate ${plan_folder}/trial_sheet.html kNoticeTemplate ${plan_folder}/notice.html
               kLabelsTemplate ${plan_folder}/labels.html)
